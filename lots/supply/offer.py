"""What can be offered to a customer: finished pots that nobody has spoken for, and by week as many
as are there 9 times in 10."""

from dataclasses import dataclass
from datetime import date

from lots.catalogue.faces import faces
from lots.models import Photo, PotSize, Variety
from lots.outlook.calendar import Kind
from lots.supply.listing import lines
from lots.supply.targets import serving
from lots.supply.weeks import WEEK, monday_of


@dataclass(frozen=True)
class Offer:
    """A variety in a pot size: pots to be had `now`, and in each of the coming `weeks`; what is
    wanted by a target is set aside. `photo` is the picture of the variety."""

    variety: Variety
    size: PotSize
    now: int
    weeks: list[int]
    photo: Photo | None


def offers(count: int, today: date) -> list[Offer]:
    """In the order of names, those of which there is something to be had."""
    left = serving(today)
    monday = monday_of(today)
    found = []
    for line in lines(count, today):
        if line.size is None:
            continue
        kind = Kind(line.variety.pk, line.size.pk)
        free = [0] * count
        for day, pots in left.ahead.get(kind, ()):
            n = max((monday_of(day) - monday).days // 7, 0)
            if n < count:
                free[n] += pots
        weeks = [min(week.low or 0, pots) for week, pots in zip(line.weeks, free, strict=True)]
        now = left.here.get(kind, 0)
        if now or any(weeks):
            found.append((line.variety, line.size, now, weeks))
    photos = faces(variety.pk for variety, *_rest in found)
    return [Offer(*row, photos.get(row[0].pk)) for row in found]


def mondays(count: int, today: date) -> list[date]:
    return [monday_of(today) + n * WEEK for n in range(count)]
