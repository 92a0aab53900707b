"""What rows of the book say against each other and no constraint of the database can hold: names
that differ in capitals only, codes that open two things, plants and lots of different varieties."""

from collections import defaultdict
from collections.abc import Iterator

from django.contrib.auth import get_user_model
from django.db.models import F
from django.utils.translation import gettext as _

from lots import codes
from lots.models import (
    CropGroup,
    Cut,
    Flat,
    Lot,
    Method,
    Place,
    PotSize,
    Stage,
    StickingSession,
    StockPlant,
    Variety,
)
from lots.models.known import Known


def known() -> list[type[Known]]:
    """The tables whose rows are known by a name."""
    here = [CropGroup, Method, PotSize, Place, Flat, Variety, StockPlant, StickingSession]
    return [*here, get_user_model()]


def disagreements(using: str = "default") -> Iterator[tuple[str | None, str]]:
    """Each with the code of the lot that it is about (or None) and a sentence."""
    for model in known():
        for names in _alike(using, model):
            says = _("%(table)s: %(names)s differ in capitals only; rename one.")
            words = {"table": model._meta.verbose_name, "names": ", ".join(names)}
            words["table"] = str(words["table"])[:1].upper() + str(words["table"])[1:]
            yield None, says % words
    yield from _opening_two(using)
    yield from _of_two_varieties(using)


def _alike(using: str, model: type[Known]) -> Iterator[list[str]]:
    found = defaultdict(list)
    for name in model._default_manager.using(using).values_list(model.KNOWN_BY, flat=True):
        found[name.casefold()].append(name)
    return (sorted(names) for names in found.values() if len(names) > 1)


def _opening_two(using: str) -> Iterator[tuple[str, str]]:
    read = {
        code: plant
        for plant in StockPlant.objects.using(using).values_list("code", flat=True)
        if (code := codes.read_or_none(plant))
    }
    both = Lot.objects.using(using).filter(code__in=list(read)).values_list("code", flat=True)
    for code in both:
        says = _("Its code is that of stock plant %(plant)s, too; give the plant another.")
        yield code, says % {"plant": read[code]}


def _of_two_varieties(using: str) -> Iterator[tuple[str, str]]:
    kept = (
        StockPlant.objects.using(using)
        .exclude(from_lot=None)
        .exclude(variety=F("from_lot__variety"))
        .values_list("from_lot__code", "code", "variety__code", "from_lot__variety__code")
    )
    for lot, plant, its, lots in kept:
        says = _("It is %(lots)s, and stock plant %(plant)s, which comes from it, is %(its)s.")
        yield lot, says % {"lots": lots, "plant": plant, "its": its}
    cuts = (
        Cut.objects.using(using)
        .exclude(stock_plant__variety=F("lot__variety"))
        .exclude(lot__stage=Stage.NOT_STUCK)
        .values_list("lot__code", "stock_plant__code", "stock_plant__variety__code")
        .annotate(lots=F("lot__variety__code"))
    )
    for lot, plant, its, lots in cuts:
        says = _("It is %(lots)s, and stock plant %(plant)s, of which it was cut, is %(its)s.")
        yield lot, says % {"lots": lots, "plant": plant, "its": its}
