"""Photos, for signed-in people only."""

from django.http import FileResponse, HttpRequest
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from lots.models import Photo


@require_safe
@cache_control(private=True, max_age=31_536_000, immutable=True)
def photo(request: HttpRequest, pk: int) -> FileResponse:
    photo = get_object_or_404(Photo, pk=pk)
    return FileResponse(photo.image.open("rb"), content_type="image/jpeg")
