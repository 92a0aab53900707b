"""Printing tags: choose the stock, see what won't fit, make the sheet."""

from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django.conf import settings
from django.db.models import F, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from labels import making, sheet
from labels.forms.printing import PrintForm
from labels.lot_tags import (
    Printable,
    base_address,
    of_flats,
    of_lots,
    of_places,
    of_stock_plants,
)
from labels.models import PrintedTag, Printing
from labels.picture import picture
from labels.prints import keep_printing, parted
from labels.sentences import SentenceError
from labels.stocks import every_stock
from labels.symbols import symbol_on
from lots.forms.fields import MOST_DIGITS
from lots.forms.stockplants import StockFilter
from lots.models import Flat, Lot, Place, StickingSession, StockPlant
from lots.sticking.cutting import in_cutting_order
from lots.views.access import manager_only
from lots.views.ledger.finding import lot_of
from lots.views.pages import GET_OR_POST, render_form

Kind = PrintedTag.Kind


@dataclass(frozen=True)
class Job:
    """What there is to print, and where the page goes back to.

    `filters` are the words of a query that say which stock plants.
    """

    heading: str
    back: tuple[str, str]  # address and words
    name: str  # of the file
    lots: list[Lot] = field(default_factory=list)
    plants: list[StockPlant] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)
    flats: list[Flat] = field(default_factory=list)
    parts: bool = False  # whether it can be printed in part
    filters: dict[str, str] = field(default_factory=dict)

    def printables(self, base: str, form: PrintForm) -> list[Printable]:
        if self.plants:
            return of_stock_plants(self.plants, base)
        if self.places or self.flats:
            return [*of_places(self.places, base), *of_flats(self.flats, base)]
        lots = self.lots
        if self.parts:
            lots = parted(lots, form.kind_of_tag)[form.part]
        return of_lots(lots, base, form.kind_of_tag)

    def form(self, data: dict[str, Any]) -> PrintForm:
        counts = None
        if self.parts:
            kinds = [kind for kind in (Kind.LOT, Kind.POT) if kind == data.get("kind")]
            found = parted(self.lots, kinds[0] if kinds else Kind.LOT)
            counts = {which: len(lots) for which, lots in found.items()}
        return PrintForm(data, of_lots=bool(self.lots), counts=counts)

    @property
    def size(self) -> int:
        return len(self.plants) + len(self.lots) + len(self.places) + len(self.flats)


@GET_OR_POST
@manager_only
def session_print(request: HttpRequest, pk: int) -> HttpResponse:
    return _print_page(request, _session_job(pk))


@require_safe
@manager_only
def session_tags(request: HttpRequest, pk: int) -> HttpResponse:
    return _pdf(request, _session_job(pk))


@GET_OR_POST
@manager_only
def lot_print(request: HttpRequest, code: str) -> HttpResponse:
    return _print_page(request, _lot_job(code))


@require_safe
@manager_only
def lot_tag(request: HttpRequest, code: str) -> HttpResponse:
    return _pdf(request, _lot_job(code))


@GET_OR_POST
@manager_only
def stock_plant_print(request: HttpRequest, pk: int) -> HttpResponse:
    return _print_page(request, _plant_job(pk))


@require_safe
@manager_only
def stock_plant_tag(request: HttpRequest, pk: int) -> HttpResponse:
    return _pdf(request, _plant_job(pk))


@GET_OR_POST
@manager_only
def stock_print(request: HttpRequest) -> HttpResponse:
    return _print_page(request, _stock_job(request))


@require_safe
@manager_only
def stock_tags(request: HttpRequest) -> HttpResponse:
    return _pdf(request, _stock_job(request))


@GET_OR_POST
@manager_only
def places_print(request: HttpRequest) -> HttpResponse:
    return _print_page(request, _places_job(request))


@require_safe
@manager_only
def places_tags(request: HttpRequest) -> HttpResponse:
    return _pdf(request, _places_job(request))


@GET_OR_POST
@manager_only
def flats_print(request: HttpRequest) -> HttpResponse:
    return _print_page(request, _flats_job(request))


@require_safe
@manager_only
def flats_tags(request: HttpRequest) -> HttpResponse:
    return _pdf(request, _flats_job(request))


def _session_job(pk: int) -> Job:
    session = get_object_or_404(StickingSession, pk=pk)
    return Job(
        _("Tags of session %(code)s") % {"code": session.code},
        (reverse("session", args=[pk]), session.code),
        f"tags-{session.code}.pdf",
        lots=in_cutting_order(session),
        parts=True,
    )


def _lot_job(code: str) -> Job:
    lot = lot_of(code)
    return Job(
        _("Tag of %(lot)s") % {"lot": lot},
        (reverse("lot", args=[lot.code]), str(lot)),
        f"tag-{lot.code}.pdf",
        lots=[lot],
    )


def _plant_job(pk: int) -> Job:
    plant = get_object_or_404(StockPlant.objects.select_related("variety", "place"), pk=pk)
    return Job(
        _("Tag of stock plant %(plant)s") % {"plant": plant},
        (reverse("stock-plant", args=[pk]), str(plant)),
        f"tag-{plant.code}.pdf",
        plants=[plant],
    )


def _stock_job(request: HttpRequest) -> Job:
    """The stock plants that the list of them shows, in walking order."""
    chosen = StockFilter(request.GET)
    plants = chosen.apply(StockPlant.objects.select_related("variety", "place"))
    filters = {name: request.GET[name] for name in chosen.fields if request.GET.get(name)}
    back = reverse("stock") + (f"?{urlencode(filters)}" if filters else "")
    return Job(
        _("Tags of stock plants"),
        (back, _("Stock plants")),
        "tags-stock-plants.pdf",
        plants=list(plants.order_by(F("place__walk_order").asc(nulls_last=True), "place", "code")),
        filters=filters,
    )


def _places_job(request: HttpRequest) -> Job:
    """Places in walking order: all, or the one that is asked for."""
    places, filters = _asked(request, "place", Place.objects.all())
    back = reverse("places"), _("Places")
    return Job(_("Tags of places"), back, "tags-places.pdf", places=places, filters=filters)


def _flats_job(request: HttpRequest) -> Job:
    flats, filters = _asked(request, "flat", Flat.objects.all())
    back = reverse("flats"), _("Flats")
    return Job(_("Tags of flats"), back, "tags-flats.pdf", flats=flats, filters=filters)


def _asked(request: HttpRequest, name: str, rows: QuerySet) -> tuple[list, dict[str, str]]:
    """All rows, or the one whose number the address has; and that number again."""
    number = request.GET.get(name, "")
    if not number:
        return list(rows), {}
    found = rows.filter(pk=number) if number.isdecimal() and len(number) <= MOST_DIGITS else []
    return list(found), {name: number}


def _print_page(request: HttpRequest, job: Job) -> HttpResponse:
    """The choices, and what comes of them; sent with `make`, the sheet is made and recorded."""
    base = base_address(request)
    sent = request.POST if request.method == "POST" else request.GET
    last = Printing.objects.filter(by=request.user).first()
    usual = {"printer": last.printer_id} if last else {}
    if last and last.stock_name in every_stock():  # it may have been removed, or named otherwise
        usual["stock"] = last.stock_name
    form = job.form(usual | {"uuid": uuid4()} | sent.dict())
    context = {
        "form": form,
        "job": job,
        "base": base,
        "base_is_set": bool(settings.NURSERY_ADDRESS),
    }
    if form.is_valid() and job.size:
        before = Printing.objects.filter(uuid=form.cleaned_data["uuid"]).first()
        if before and "make" in request.POST:
            return redirect("printing", before.uuid)
        printables = job.printables(base, form)
        order = form.order(printables)
        if order:
            symbol = symbol_on(order.stock, order.tags[0])
            if "make" in request.POST and symbol.works:
                printing = keep_printing(
                    order,
                    printables,
                    request.user,
                    job.heading,
                    form.cleaned_data.get("printer"),
                    form.cleaned_data["uuid"],
                )
                making.make(order)
                return redirect("printing", printing.uuid)
            choices = {k: v for k, v in form.data.items() if k in form.CHOSEN}
            context |= {
                "order": order,
                "problems": sheet.check_order(order) if symbol.works else [],
                "symbol": symbol,
                "without": [one.tag.code for one in printables if one.tag not in order.tags],
                "picture": picture(order.stock, order.start, order.labels),
                "choices": urlencode(job.filters | choices),
            }
    return render_form(request, "labels/print.html", context)


def _pdf(request: HttpRequest, job: Job) -> HttpResponse:
    """The sheet that an address describes, for other programs; nobody is on record for it."""
    form = job.form(request.GET.dict())
    order = None
    if form.is_valid() and job.size:
        order = form.order(job.printables(base_address(request), form))
    if order is None:
        sentences = [text for texts in form.errors.values() for text in texts]
        why = " ".join(sentences) or _("There are no tags to print.")
        return render(request, "labels/cannot.html", {"why": why}, status=422)
    try:
        made = making.pdf(order)
    except SentenceError as fault:
        return render(request, "labels/cannot.html", {"why": fault.sentence}, status=422)
    response = HttpResponse(made, content_type="application/pdf")
    response["Content-Disposition"] = content_disposition_header(False, job.name)
    return response
