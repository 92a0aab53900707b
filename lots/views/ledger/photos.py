"""Photos, for signed-in people only."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST, require_safe

from lots import ledger
from lots.forms.catalogue import VarietyPhotoForm
from lots.ledger import photos
from lots.models import Photo, Variety
from lots.views.access import manager_only
from lots.views.files import PHOTO, takes
from lots.views.pages import GET_OR_POST, posted, render_form
from lots.views.refused import add_refusal


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
    photo = get_object_or_404(Photo.objects.select_related("lot__variety", "variety"), pk=pk)
    variety = photo.of
    Variety.objects.filter(pk=variety.pk).update(face=photo)
    messages.success(request, _("This is the picture of %(variety)s now.") % {"variety": variety})
    if photo.lot and "variety" not in request.POST:
        return redirect("lot", photo.lot.code)
    return redirect("variety", variety.pk)


@takes(PHOTO)
@GET_OR_POST
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """A photo of a variety: how it looks when it is grown."""
    variety = get_object_or_404(Variety, pk=pk)
    form = VarietyPhotoForm(posted(request), request.FILES if request.method == "POST" else None)
    if form.is_valid():
        try:
            image = photos.shrunk(form.cleaned_data["photo"])
            photos.attach_to_variety(variety, image, request.user)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, _("The photo hangs on %(variety)s.") % {"variety": variety})
            return redirect("variety", variety.pk)
    context = {
        "title": _("Photo of %(variety)s") % {"variety": variety},
        "crumbs": [(reverse("variety", args=[variety.pk]), variety)],
        "form": form,
    }
    return render_form(request, "form.html", context)


@GET_OR_POST
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take away a photo of a variety, by who hung it there or a manager. Those of records stay:
    they are part of what was seen."""
    photo = get_object_or_404(Photo.objects.select_related("variety"), pk=pk, lot=None)
    if photo.by_id != request.user.pk and not request.user.is_manager:
        raise PermissionDenied(_("Only who took this photo or a manager can take it away."))
    if request.method == "POST":
        photos.remove_from_variety(photo)
        messages.success(request, _("The photo is removed."))
        return redirect("variety", photo.variety.pk)
    context = {
        "row": _("the photo of %(day)s") % {"day": date_format(photo.taken_at, "j F Y")},
        "title": photo.variety,
        "back": reverse("variety", args=[photo.variety.pk]),
    }
    return render(request, "remove.html", context)
