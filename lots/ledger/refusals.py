"""What the book can't take, and the sentence that says so to the person at the bench."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots import tally
from lots.models import RECORDS, Cut, Lot, Record, Stage, StockPlant, Variety
from lots.models.days import check_day
from lots.models.lot import MOST_PIECES, MOST_UNITS

CLOCK_SKEW = timedelta(minutes=10)
VOIDING = ["voided_at", "voided_by", "voided_why"]


class Refused(Exception):
    """The book can't take this; the text says what stands in it. `field` is where it belongs."""

    def __init__(self, sentence: str, field: str | None = None) -> None:
        super().__init__(sentence)
        self.field = field


def check_may_be_stuck(lot: Lot, cuts: Iterable[Cut]) -> None:
    """Raise Refused for a protected variety without a licence, or a plant not to be cut."""
    check_licence(lot.variety)
    for cut in cuts:
        check_plant(cut.stock_plant, lot)
        if not cut.stock_plant.may_be_cut:
            raise Refused(
                _("Stock plant %(plant)s is %(health)s: nothing is to be cut from it.")
                % {"plant": cut.stock_plant, "health": cut.stock_plant.get_health_display()},
                "stock_plants",
            )


def check_licence(variety: Variety) -> None:
    """Raise Refused for a protected variety without a licence."""
    if not variety.may_be_stuck:
        raise Refused(
            _(
                "%(variety)s is protected and has no licence reference in the book. It may not "
                "be propagated without a licence; a manager can enter the reference on the "
                "page of the variety."
            )
            % {"variety": variety},
            "variety",
        )


def check_plant(plant: StockPlant, lot: Lot) -> None:
    """Raise Refused for a stock plant of another variety than the lot."""
    if plant.variety_id != lot.variety_id:
        raise Refused(
            _("Stock plant %(plant)s is %(its)s, not %(variety)s.")
            % {"plant": plant, "its": plant.variety, "variety": lot.variety},
            "stock_plants",
        )


def check_size(units: int, pieces_per_unit: int = 1) -> None:
    """Raise Refused for a lot of more units, or a unit of more pieces, than anybody sticks."""
    for field, number, most in (
        ("units", units, MOST_UNITS),
        ("pieces_per_unit", pieces_per_unit, MOST_PIECES),
    ):
        if not 1 <= number <= most:
            raise Refused(
                _("%(number)s won't do; write a number from 1 to %(most)s.")
                % {"number": number, "most": most},
                field,
            )


def check_entry(lot: Lot, entry: Record) -> None:
    """Raise Refused for a record that the lot can't have, or that says nonsense in itself."""
    try:
        check_day(entry.observed_at)
    except ValidationError as fault:
        raise Refused(fault.messages[0], "observed_at") from fault
    check_belongs(lot, entry.event())
    try:
        entry.full_clean(exclude=["uuid", "lot", "by", *VOIDING], validate_unique=False)
    except ValidationError as fault:
        field, texts = next(iter(fault.message_dict.items()))
        where = "" if field == "__all__" else f"{entry._meta.get_field(field).verbose_name}: "
        raise Refused(where + texts[0], None if field == "__all__" else field) from fault


def check_belongs(lot: Lot, event: tally.Event) -> None:
    """Raise Refused for a record that the lot can't have, whatever its numbers."""
    if not lot.is_stuck:
        raise Refused(
            _("%(lot)s was never stuck: its tag is void.") % {"lot": lot}
            if lot.stage == Stage.NOT_STUCK
            else _("%(lot)s is planned and not stuck yet; confirm the sticking first.")
            % {"lot": lot}
        )
    check_moment(lot, event.at)
    if event.kind == "potup" and lot.direct:
        raise Refused(
            _("%(lot)s was stuck straight into pots, so there is nothing to pot up.") % {"lot": lot}
        )
    if event.kind == "loss" and event.stage == "cell" and lot.direct:
        raise Refused(
            _("%(lot)s was stuck straight into pots; its losses are from pots.") % {"lot": lot},
            "stage",
        )
    if event.kind == "move" and event.what == "cells" and lot.direct:
        raise Refused(
            _("%(lot)s was stuck straight into pots, so it has no cells to move.") % {"lot": lot},
            "what",
        )


def check_moment(lot: Lot, moment: datetime) -> None:
    """Raise Refused for a moment before the lot was stuck, or in the future."""
    if moment > timezone.now() + CLOCK_SKEW:
        raise Refused(
            _("%(moment)s has not come yet. Is the clock of the phone right?")
            % {"moment": date_format(timezone.localtime(moment), "DATETIME_FORMAT")},
            "observed_at",
        )
    if timezone.localtime(moment).date() < lot.stuck_on:
        raise Refused(
            _("%(lot)s was stuck on %(day)s; nothing can be seen on it before that.")
            % {"lot": lot, "day": date_format(lot.stuck_on)},
            "observed_at",
        )


STANDS = {
    "living": gettext_lazy("alive"),
    "cells": gettext_lazy("alive in cells"),
    "growing": gettext_lazy("growing in pots"),
    "finished": gettext_lazy("finished pots"),
}


def why_impossible(lot: Lot, fault: tally.Impossible, *, asked: bool) -> tuple[str, str | None]:
    """The sentence for a record that doesn't fit, and the field it belongs to."""
    words = {
        "lot": lot,
        "has": fault.has,
        "what": STANDS[fault.what],
        "wants": fault.wants,
        "day": date_format(fault.event.day),
        "kind": RECORDS[fault.event.kind]._meta.verbose_name,
    }
    if asked:
        today = fault.event.day >= timezone.localdate()
        sentence = (
            ngettext(
                "%(has)s unit of %(lot)s stands in the book as %(what)s, and this says %(wants)s.",
                "%(has)s units of %(lot)s stand in the book as %(what)s, and this says %(wants)s.",
                fault.has,
            )
            if today
            else _(
                "On %(day)s the book had %(has)s of %(lot)s as %(what)s, and this says %(wants)s."
            )
        )
        return sentence % words, RECORDS[fault.event.kind].at_fault()
    return (
        _(
            "This doesn't fit the %(kind)s of %(day)s that stands in the book: it took "
            "%(wants)s, and only %(has)s would be %(what)s then."
        )
        % words,
        None,
    )
