"""What was printed: written down when a sheet is made, and read on the pages of lots and plants."""

from django.db import transaction
from django.db.models import QuerySet

from labels.forms.printing import PrintForm
from labels.lot_tags import Printable
from labels.models import PrintedTag, Printing
from labels.order import Order, as_json
from lots.models import Lot, StockPlant


def keep_printing(
    form: PrintForm, order: Order, printables: list[Printable], by, heading: str
) -> Printing:
    """The record of a sheet; a form sent twice finds the first one."""
    with transaction.atomic():
        printing, made = Printing.objects.get_or_create(
            uuid=form.cleaned_data["uuid"],
            defaults={
                "by": by,
                "heading": heading,
                "stock_name": order.stock.name,
                "printer": form.cleaned_data.get("printer"),
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
                if one.tag.code in copies
            )
    return printing


def printed_tags(of: Lot | StockPlant) -> QuerySet[PrintedTag]:
    """The times that a lot's or a stock plant's tag was printed, the newest first."""
    whose = {"lot": of} if isinstance(of, Lot) else {"stock_plant": of}
    tags = PrintedTag.objects.filter(**whose).select_related("printing__by")
    return tags.order_by("-printing__at", "-pk")
