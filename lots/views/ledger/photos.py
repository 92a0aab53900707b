"""Photos, for signed-in people only."""

from django.http import FileResponse, Http404, HttpRequest
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from lots.models import Photo


@require_safe
@cache_control(private=True, max_age=31_536_000, immutable=True)
def photo(request: HttpRequest, pk: int) -> FileResponse:
    photo = get_object_or_404(Photo, pk=pk)
    try:
        file = photo.image.open("rb")
    except OSError as fault:
        raise Http404(_("The file of this photo is missing. A backup may have it.")) from fault
    return FileResponse(file, content_type="image/jpeg")
