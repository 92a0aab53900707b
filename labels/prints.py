"""What was printed: written down when a sheet is made, and read on the pages of lots and plants."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import QuerySet
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from labels.forms.printing import Which
from labels.lot_tags import Printable, day_of
from labels.models import PrintedTag, Printer, Printing
from labels.order import Order, as_json
from labels.tag import Tag, plain
from lots.models import Lot, StockPlant

Kind = PrintedTag.Kind


@dataclass(frozen=True)
class Difference:
    """A fact that a printed tag shows otherwise than the book: its name, and both in words; one
    that the tag does not show is empty."""

    what: str
    shown: str
    now: str


def keep_printing(
    order: Order,
    printables: list[Printable],
    by,
    heading: str,
    printer: Printer | None,
    uuid: UUID | None = None,
) -> Printing:
    """The record of a sheet; one of the same `uuid`, from a form sent twice, is the first one."""
    with transaction.atomic():
        printing, made = Printing.objects.get_or_create(
            uuid=uuid or uuid4(),
            defaults={
                "by": by,
                "heading": heading,
                "stock_name": order.stock.name,
                "printer": printer,
                "sheet": as_json(order),
            },
        )
        if made:
            copies = dict(zip((tag.code for tag in order.tags), order.copies, strict=True))
            PrintedTag.objects.bulk_create(
                PrintedTag(
                    printing=printing,
                    kind=one.kind,
                    lot=one.lot,
                    stock_plant=one.stock_plant,
                    copies=copies[one.tag.code],
                )
                for one in printables
                if one.kind and one.tag.code in copies
            )
    return printing


def printed_tags(of: Lot | StockPlant) -> QuerySet[PrintedTag]:
    """The times that a lot's or a stock plant's tag was printed, the newest first."""
    whose = {"lot": of} if isinstance(of, Lot) else {"stock_plant": of}
    tags = PrintedTag.objects.filter(**whose).select_related("printing__by")
    return tags.defer("printing__sheet").order_by("-printing__at", "-pk")


def newest_tags(lots: list[Lot], kind: Kind = Kind.LOT) -> dict[int, Tag]:
    """By each lot's key what its newest printed tag of a kind says; no key for one without."""
    tags = PrintedTag.objects.filter(kind=kind, lot__in=lots).order_by("printing__at", "pk")
    newest = dict(tags.values_list("lot_id", "printing_id"))
    codes = {lot.code: lot.pk for lot in lots}
    found: dict[int, Tag] = {}
    for printing in Printing.objects.filter(pk__in=set(newest.values())):
        for tag in printing.order().tags:
            whose = codes.get(tag.code, 0)
            if newest.get(whose) == printing.pk:
                found[whose] = tag
    return found


def differences(lot: Lot, tag: Tag) -> list[Difference]:
    """What a lot's tag shows that is no longer so, of what people tell lots by. Its counts are
    not among it: they change from day to day, and nobody prints a tag for that."""
    said = [
        (_("day"), _day(tag.stuck_on), _day(day_of(lot))),
        (_("variety"), plain(tag.name), plain(lot.variety.name_runs)),
        (_("method"), tag.method, lot.method.name),
        (_("place"), tag.place, lot.place.name if tag.place and lot.place else tag.place),
    ]
    return [Difference(what, shown, now) for what, shown, now in said if shown != now]


def _day(day: date | None) -> str:
    return date_format(day, "j F Y") if day else ""


def parted(lots: Iterable[Lot], kind: Kind = Kind.LOT) -> dict[Which, list[Lot]]:
    """Lots by what of their tags there is to print: all, those without a tag of the kind yet, and
    those whose newest tag is no longer right, which is told of the tags of whole lots."""
    lots = list(lots)
    shown = newest_tags(lots, kind)
    told = [lot for lot in lots if lot.pk in shown and kind == Kind.LOT]
    return {
        Which.ALL: lots,
        Which.NEW: [lot for lot in lots if lot.pk not in shown],
        Which.WRONG: [lot for lot in told if differences(lot, shown[lot.pk])],
    }


def wrong_on_tag(lot: Lot) -> list[Difference]:
    """What the newest tag of a lot shows that is no longer so; nothing if there is no tag."""
    return [found for tag in newest_tags([lot]).values() for found in differences(lot, tag)]
