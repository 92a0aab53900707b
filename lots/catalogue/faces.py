"""The picture by which a variety is known: the one that somebody chose, else the newest of its
lots."""

from collections.abc import Iterable

from django.db.models import Max

from lots.models import Photo, Variety


def faces(varieties: Iterable[int]) -> dict[int, Photo]:
    """By the keys of those varieties that have a picture."""
    varieties = set(varieties)
    photos = Photo.objects.filter(lot__variety__in=varieties).order_by()
    newest = dict(photos.values_list("lot__variety").annotate(Max("pk")))
    chosen = Variety.objects.filter(pk__in=varieties, face__isnull=False)
    keys = newest | dict(chosen.values_list("pk", "face"))
    found = Photo.objects.in_bulk(keys.values())
    return {variety: found[key] for variety, key in keys.items()}
