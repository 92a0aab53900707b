"""Photos, for signed-in people only."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST, require_safe

from lots.ledger import photos
from lots.models import Photo, Variety
from lots.views.access import manager_only


@require_safe
@cache_control(private=True, max_age=31_536_000, immutable=True)
def photo(request: HttpRequest, pk: int) -> FileResponse:
    photo = get_object_or_404(Photo, pk=pk)
    try:
        file = photo.image.open("rb")
    except OSError as fault:
        raise Http404(_("The file of this photo is missing. A backup may have it.")) from fault
    return FileResponse(file, content_type="image/jpeg")


@require_safe
@cache_control(private=True, max_age=31_536_000, immutable=True)
def small(request: HttpRequest, pk: int) -> HttpResponse:
    """The photo as lists show it."""
    try:
        picture = photos.small(get_object_or_404(Photo, pk=pk))
    except (OSError, SyntaxError, ValueError) as fault:  # whatever Pillow says of what is none
        raise Http404(_("The file of this photo is missing. A backup may have it.")) from fault
    return HttpResponse(picture, content_type="image/jpeg")


@require_POST
@manager_only
def face(request: HttpRequest, pk: int) -> HttpResponse:
    """From now on this is the picture of its lot's variety."""
    photo = get_object_or_404(Photo.objects.select_related("lot__variety"), pk=pk)
    variety = photo.lot.variety
    Variety.objects.filter(pk=variety.pk).update(face=photo)
    messages.success(request, _("This is the picture of %(variety)s now.") % {"variety": variety})
    return redirect("lot", photo.lot.code)
