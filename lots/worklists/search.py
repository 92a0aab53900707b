"""What the box at the top finds: whatever people call a thing by, or a part of that."""

from dataclasses import dataclass, fields

from django.contrib.auth import get_user_model
from django.db.models import Q

from lots import codes
from lots.catalogue.lists import named
from lots.models import Flat, Lot, Place, StickingSession, StockPlant, Variety

MOST = 6  # of each kind
SHORTEST = 2  # letters of a name, or of a code


@dataclass(frozen=True)
class Found:
    """A few of each kind, the likeliest first. Benches are names."""

    lots: list[Lot]
    varieties: list[Variety]
    flats: list[Flat]
    benches: list[str]
    places: list[Place]
    sessions: list[StickingSession]
    plants: list[StockPlant]
    people: list

    @property
    def kinds(self) -> list[tuple[str, list]]:
        """The kinds of which something was found."""
        pairs = ((one.name, getattr(self, one.name)) for one in fields(self))
        return [(name, rows) for name, rows in pairs if rows]

    @property
    def only(self) -> tuple[str, object] | None:
        """The one thing there is, and its kind."""
        rows = [(name, row) for name, some in self.kinds for row in some]
        return rows[0] if len(rows) == 1 else None


def search(text: str) -> Found:
    """All kinds of things whose code or name has the text in it, in any capitals."""
    words = " ".join(text.split())
    if len(words) < SHORTEST and not words.isdecimal():
        return Found([], [], [], [], [], [], [], [])
    places = list(Place.objects.all())
    benches = dict.fromkeys(place.bench for place in places if place.bench != place.name)
    small = words.casefold()
    return Found(
        _lots(words),
        list(Variety.objects.filter(named(words)).select_related("group")[:MOST]),
        list(Flat.objects.filter(code__icontains=words)[:MOST]),
        [bench for bench in benches if bench.casefold().startswith(small)][:MOST],
        [place for place in places if place.name.casefold().startswith(small)][:MOST],
        _sessions(words),
        list(
            StockPlant.objects.filter(code__icontains=words)
            .select_related("variety")
            .order_by("code")[:MOST]
        ),
        list(
            get_user_model()
            .objects.filter(Q(name__icontains=words) | Q(initials__iexact=words))
            .order_by("name")[:MOST]
        ),
    )


def _lots(words: str) -> list[Lot]:
    code = words.upper().translate(codes.FROM_ANY_HAND)
    if not code or set(code) - set(codes.CROCKFORD):
        return []
    # All codes that begin so: a range, since a search for LIKE would read every lot.
    first = (code, code.ljust(codes.LENGTH, "Z"))
    lots = Lot.objects.filter(code__range=first).select_related("variety", "method")
    return list(lots.order_by("-stuck_on", "-pk")[:MOST])


def _sessions(words: str) -> list[StickingSession]:
    named = Q(code__icontains=words) | Q(day__startswith=words)
    return list(StickingSession.objects.filter(named).order_by("-day", "-pk")[:MOST])
