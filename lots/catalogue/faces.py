"""The picture by which a variety is known: the one that somebody chose, else the newest of its
own or of its lots."""

from collections.abc import Iterable

from django.db.models import Max

from lots.models import Photo, Variety


def faces(varieties: Iterable[int]) -> dict[int, Photo]:
    """By the keys of those varieties that have a picture."""
    varieties = set(varieties)
    photos = Photo.objects.order_by()
    own = photos.filter(variety__in=varieties).values_list("variety").annotate(Max("pk"))
    of_lots = photos.filter(lot__variety__in=varieties)
    newest = dict(own)
    for variety, pk in of_lots.values_list("lot__variety").annotate(Max("pk")):
        newest[variety] = max(pk, newest.get(variety, 0))
    chosen = Variety.objects.filter(pk__in=varieties, face__isnull=False)
    keys = newest | dict(chosen.values_list("pk", "face"))
    found = Photo.objects.in_bulk(keys.values())
    return {variety: found[key] for variety, key in keys.items()}
