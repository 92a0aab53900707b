"""The picture by which a variety is known: the one that somebody chose, else the newest of its
lots."""

from collections.abc import Iterable

from lots.models import Photo, Variety


def faces(varieties: Iterable[int]) -> dict[int, Photo]:
    """By the keys of those varieties that have a picture."""
    varieties = set(varieties)
    rows = Photo.objects.filter(lot__variety__in=varieties).select_related("lot").order_by("pk")
    found = {photo.lot.variety_id: photo for photo in rows}
    chosen = Variety.objects.filter(pk__in=varieties, face__isnull=False).select_related("face")
    return found | {variety.pk: variety.face for variety in chosen}
