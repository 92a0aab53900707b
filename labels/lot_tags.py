"""What the tags of lots, stock plants, flats and places say, and the address that they carry."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from urllib.parse import quote, urlsplit

from django.conf import settings
from django.http import HttpRequest
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from labels.models import PrintedTag, TagSettings
from labels.tag import Passport, Tag
from lots.models import Flat, Lot, Place, PotUp, StockPlant, Variety

LOOPBACK = ("localhost", "127.0.0.1", "::1", "testserver")
Kind = PrintedTag.Kind


@dataclass(frozen=True)
class Printable:
    """A tag, whose it is, and how many pots it may be wanted for. Those of flats and places have no
    kind: nothing on them can be overtaken by the book."""

    tag: Tag
    kind: PrintedTag.Kind | None = None
    lot: Lot | None = None
    stock_plant: StockPlant | None = None
    pots: int = 0


def base_address(request: HttpRequest | None = None) -> str:
    """The base of the addresses on tags: NURSERY_ADDRESS, or what this network knows us by."""
    if settings.NURSERY_ADDRESS:
        return settings.NURSERY_ADDRESS
    if request is None:
        return settings.LAN_ADDRESS
    here = urlsplit(request.build_absolute_uri("/"))
    if here.hostname in LOOPBACK:
        found = urlsplit(settings.LAN_ADDRESS)
        port = here.port or (443 if here.scheme == "https" else 80)
        return f"{here.scheme}://{found.hostname}:{port}"
    return f"{here.scheme}://{here.netloc}"


def tags_of(lots: Iterable[Lot], base: str) -> list[Tag]:
    """A tag for each lot, in the same order."""
    return [printable.tag for printable in of_lots(lots, base)]


def of_lots(lots: Iterable[Lot], base: str, kind: PrintedTag.Kind = Kind.LOT) -> list[Printable]:
    """The lots' tags for their flats, or for their pots, in the same order."""
    lots, extras = list(lots), Extras()
    potted = _potted(lots) if kind == Kind.POT else {}
    return [
        Printable(
            _pot_tag(lot, base, extras, potted.get(lot.pk))
            if kind == Kind.POT
            else _lot_tag(lot, base, extras),
            kind,
            lot=lot,
            pots=_pots(lot),
        )
        for lot in lots
    ]


def of_stock_plants(plants: Iterable[StockPlant], base: str) -> list[Printable]:
    """The tags of stock plants, in the same order."""
    extras = Extras()
    return [
        Printable(_plant_tag(plant, base, extras), Kind.STOCK, stock_plant=plant)
        for plant in plants
    ]


def of_flats(flats: Iterable[Flat], base: str) -> list[Printable]:
    """The tags of flats, in the same order. Scanned, one opens all that stands in it."""
    same = Extras().same
    return [_spot(_("Flat"), flat.code, f"{base}/F/", same) for flat in flats]


def of_places(places: Iterable[Place], base: str) -> list[Printable]:
    """The tags of places, in the same order, those of a bench after one of the bench itself.
    Scanned, one opens all that stands there."""
    same, benches = Extras().same, set()
    found = []
    for place in places:
        if place.bench not in {place.name, *benches}:
            benches.add(place.bench)
            found.append(_spot(_("Bench"), place.bench, f"{base}/P/", same))
        found.append(_spot(_("Place"), place.name, f"{base}/P/", same))
    return found


def _spot(word: str, name: str, folder: str, same: dict) -> Printable:
    return Printable(
        Tag(((f"{word} {name}", False),), name, folder + quote(name.upper(), safe=""), **same)
    )


def _plant_tag(plant: StockPlant, base: str, extras: "Extras") -> Tag:
    return Tag(
        name=plant.variety.name_runs,
        code=plant.code,
        address=f"{base}/T/{quote(plant.code, safe='')}",
        stuck_on=plant.since,
        day_word=_("Since"),
        method=_("Stock plant"),
        place=extras.place(plant.place),
        notices=extras.notices(plant.variety),
        **extras.same,
    )


class Extras:
    """What the labels' settings add to the facts, read once for a sheet."""

    def __init__(self) -> None:
        self.settings = TagSettings.objects.filter(pk=1).first() or TagSettings()
        pet_groups = TagSettings.pet_groups.through.objects
        self.pet_groups = set(pet_groups.values_list("cropgroup_id", flat=True))
        # What stands on every tag, whatever it is of.
        self.same = {
            "nursery": self.settings.nursery_line,
            "week_sign": _("W"),
            "months": tuple(date_format(date(2000, month, 1), "M") for month in range(1, 13)),
        }

    def notices(self, variety: Variety) -> tuple[str, ...]:
        found = []
        if variety.protected and self.settings.protected_notice:
            found.append(_("Protected variety: not to be propagated without a licence."))
        if variety.group_id in self.pet_groups:
            found.append(_("Harmful to pets and people if eaten."))
        return tuple(found)

    def place(self, stands_at: Place | None) -> str:
        return stands_at.name if stands_at and self.settings.place else ""

    def passport(self, lot: Lot) -> Passport | None:
        chosen = self.settings
        if not chosen.passport:
            return None
        return Passport(
            words=chosen.passport_words,
            operator=f"{chosen.member_state}-{chosen.registration}",
            trace=lot.code,
            origin=chosen.origin,
        )


def day_of(lot: Lot) -> date | None:
    """The day that a lot's tag shows: when it was stuck, or when it is planned to be."""
    return lot.stuck_on or (lot.session.day if lot.session else None)


def _lot_tag(lot: Lot, base: str, extras: Extras) -> Tag:
    who = lot.stuck_by or (lot.session and lot.session.led_by)
    return Tag(
        name=lot.variety.name_runs,
        code=lot.code,
        address=f"{base}/T/{lot.code}",
        day_word=_("Stuck"),
        stuck_on=day_of(lot),
        method=lot.method.name,
        count=f"{lot.units} × {lot.pieces_per_unit}",
        initials=who.initials if who else "",
        flat=_flat(lot),
        place=extras.place(lot.place),
        notices=extras.notices(lot.variety),
        **extras.same,
    )


def _flat(lot: Lot) -> str:
    """The flat, and in a trial the arm: its two lots stand in one flat."""
    parts = [lot.flat.code if lot.flat else "", lot.arm.letter if lot.arm else ""]
    return " ".join(part for part in parts if part)


def _pot_tag(lot: Lot, base: str, extras: Extras, potted: PotUp | None) -> Tag:
    """The tag of one pot: what concerns the flat is left out."""
    whole = replace(
        _lot_tag(lot, base, extras),
        count="",
        initials="",
        flat="",
        place="",
        passport=extras.passport(lot),
    )
    if potted is None:
        size = lot.direct_pot_size.name if lot.direct_pot_size else ""
        return replace(whole, count=size)
    return replace(
        whole, count=potted.pot_size.name, stuck_on=_day(potted), day_word=_("Potted"), method=""
    )


def _day(potted: PotUp) -> date:
    return timezone.localtime(potted.observed_at).date()


def _potted(lots: list[Lot]) -> dict[int, PotUp]:
    """The newest potting up of each lot that had one."""
    records = PotUp.objects.filter(lot__in=lots, voided_at=None).select_related("pot_size")
    return {record.lot_id: record for record in records.order_by("observed_at", "pk")}


def _pots(lot: Lot) -> int:
    """The pots of a lot that stand here, or that a planned one will be stuck into."""
    if lot.stage == "planned":
        return lot.planned_units if lot.direct_pot_size_id else 0
    return lot.pots_growing + lot.pots_finished
