"""From what is on a tag to the page it belongs to: scanned, or typed by hand."""

import re
from urllib.parse import urlencode, urlsplit

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots import codes
from lots.models import Flat, Lot, Place, StockPlant
from lots.models.place import by_bench
from lots.worklists.search import search

# A scanner that types the whole address on the tag of a flat or a place.
SPOT = re.compile(r"https?://[^/]+/[FPfp]/[^/?#]+/?")
PAGES = {
    "varieties": "variety",
    "flats": "flat",
    "places": "place",
    "sessions": "session",
    "plants": "stock-plant",
}


@require_safe
def tag(request: HttpRequest, text: str) -> HttpResponse:
    """The address on the tags: `/T/<code>` of a lot or of a stock plant."""
    return _opened(text) or _not_found(request, text)


@require_safe
def flat_tag(request: HttpRequest, text: str) -> HttpResponse:
    """The address on the tag of a flat: all that stands in it, on one page."""
    flat = Flat.known_as(text)
    if flat is None:
        return _not_found(request, text, _("There is no flat %(text)s in this book."))
    return redirect(f"{reverse('bench', args=['check'])}?flat={flat.pk}")


@require_safe
def place_tag(request: HttpRequest, text: str) -> HttpResponse:
    """The address on the tag of a place, or of a whole bench."""
    page, place = reverse("bench", args=["check"]), Place.known_as(text)
    if place:
        return redirect(f"{page}?place={place.pk}")
    bench = next((name for name in by_bench() if name.upper() == text.upper()), "")
    if bench:
        return redirect(f"{page}?{urlencode({'bench': bench})}")
    return _not_found(request, text, _("There is no place %(text)s in this book."))


@require_safe
def find(request: HttpRequest) -> HttpResponse:
    """What was typed in the box at the top: a code, from a hand or from a scanner that types, is
    opened; of anything else it is shown what there is."""
    text = request.GET.get("code", "").strip()
    if SPOT.fullmatch(text):
        return redirect(urlsplit(text).path)
    if opened := _opened(text) if text else None:
        return opened
    found = _linked(text)
    addresses = [address for _kind, rows in found for _row, address in rows]
    if len(addresses) == 1:
        return redirect(addresses[0])
    if found:
        return render(request, "ledger/find.html", {"text": text, "found": found})
    return _not_found(request, text)


@require_safe
def matches(request: HttpRequest) -> HttpResponse:
    """What there is of what is typed so far, for the list below the box."""
    text = request.GET.get("code", "").strip()
    return render(request, "ledger/matches.html", {"text": text, "found": _linked(text)})


def _linked(text: str) -> list[tuple[str, list[tuple[object, str]]]]:
    """What is found, kind by kind, each with the address that it leads to."""
    return [
        (kind, [(row, _address(kind, row)) for row in rows]) for kind, rows in search(text).items()
    ]


def _address(kind: str, row) -> str:
    match kind:
        case "lots":
            return reverse("lot", args=[row.code])
        case "benches":
            return f"{reverse('bench', args=['check'])}?{urlencode({'bench': row})}"
        case "people":
            return f"{reverse('lots')}?{urlencode({'stage': '', 'stuck_by': row.pk})}"
    return reverse(PAGES[kind], args=[row.pk])


def lot_of(text: str) -> Lot:
    """The lot of a code in an address, or Http404 with a sentence."""
    try:
        code = codes.read(text)
    except codes.NotACode as fault:
        raise Http404(_why_not(fault)) from fault
    lot = (
        Lot.objects.select_related(
            "variety__group",
            "method",
            "session__led_by",
            "place",
            "pots_place",
            "flat",
            "stuck_by",
            "direct_pot_size",
            "arm__trial",
            "arm__method",
        )
        .filter(code=code)
        .first()
    )
    if lot is None:
        raise Http404(_no_such(code))
    return lot


def _opened(text: str) -> HttpResponse | None:
    """Where a code leads, or the last part of an address that a scanner typed."""
    code = text.rstrip("/").rsplit("/", 1)[-1]
    plant = StockPlant.known_as(text) or StockPlant.known_as(code)
    if plant:
        return redirect("stock-plant", plant.pk)
    lot = Lot.objects.filter(code=codes.read_or_none(text)).first()
    return redirect("lot", lot.code) if lot else None


def _not_found(request: HttpRequest, text: str, why: str = "") -> HttpResponse:
    if why:
        why %= {"text": text}
    elif not text:
        why = _("Type the code that stands on the tag, for instance 7K3-QFY, or a part of a name.")
    else:
        try:
            why = _no_such(codes.read(text))
        except codes.NotACode as fault:
            why = _why_not(fault)
    return render(request, "ledger/find.html", {"text": text, "why": why}, status=404)


def _no_such(code: str) -> str:
    return _("There is no lot %(code)s in this book. Was its tag printed by another book?") % {
        "code": codes.show(code)
    }


def _why_not(fault: codes.NotACode) -> str:
    words = {"code": codes.show(fault.text), "length": len(fault.text)}
    return {
        "length": _("A lot code has 6 characters, like 7K3-QFY; “%(code)s” has %(length)s."),
        "character": _(
            "“%(code)s” has a sign that no lot code has. "
            "Codes are made of digits and letters, without U."
        ),
        "check": _(
            "%(code)s is mistyped: its last character doesn't fit the others. One is wrong, or "
            "two are swapped. Look at the tag once more."
        ),
    }[fault.fault] % words
