"""What the box at the top finds: whatever people call a thing by, or a part of that."""

from django.contrib.auth import get_user_model
from django.db.models import Q, QuerySet

from lots import codes
from lots.catalogue.lists import named
from lots.models import Flat, Lot, StickingSession, StockPlant, Variety
from lots.models.place import by_bench

MOST = 6  # of each kind
SHORTEST = 2  # letters of a name, or of a code


def search(text: str) -> dict[str, list]:
    """By kind the things whose code or name has the text in it, in any capitals: a few of each, the
    likeliest first. Benches are names. Kinds of which there is none are left out."""
    words = " ".join(text.split())
    if len(words) < SHORTEST and not words.isdecimal():
        return {}
    small = words.casefold()
    benches = by_bench()
    places = [place for some in benches.values() for place in some]
    people = get_user_model().objects.filter(Q(name__icontains=words) | Q(initials__iexact=words))
    plants = StockPlant.objects.filter(code__icontains=words).select_related("variety")
    found = {
        "lots": _lots(words),
        "varieties": Variety.objects.filter(named(words)).select_related("group"),
        "flats": Flat.objects.filter(code__icontains=words),
        # One that is a single place is found as that.
        "benches": [
            name
            for name, some in benches.items()
            if name.casefold().startswith(small) and any(place.name != name for place in some)
        ],
        "places": [place for place in places if place.name.casefold().startswith(small)],
        "sessions": _sessions(words),
        "plants": plants.order_by("code"),
        "people": people.order_by("name"),
    }
    return {kind: few for kind, rows in found.items() if (few := list(rows[:MOST]))}


def _lots(words: str) -> QuerySet[Lot]:
    code = words.upper().translate(codes.FROM_ANY_HAND)
    if not code or set(code) - set(codes.CROCKFORD):
        return Lot.objects.none()
    # All codes that begin so: a range, since a search for LIKE would read every lot.
    first = (code, code.ljust(codes.LENGTH, "Z"))
    lots = Lot.objects.filter(code__range=first).select_related("variety", "method")
    return lots.order_by("-stuck_on", "-pk")


def _sessions(words: str) -> QuerySet[StickingSession]:
    named = Q(code__icontains=words) | Q(day__startswith=words)
    return StickingSession.objects.filter(named).order_by("-day", "-pk")
