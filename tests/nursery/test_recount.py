"""manage.py recount: the counts of the whole book, worked out anew from its records."""

from io import StringIO

import pytest
from django.core.management import call_command

from lots import ledger
from lots.ledger.audit import audit
from lots.models import Forecast, Lot, StrikeCheck
from tests.factories import person, place, planned_lot, stuck_lot
from tests.lots.entries import days_ago

pytestmark = pytest.mark.django_db


def recount(*options: str) -> str:
    out = StringIO()
    call_command("recount", *options, stdout=out)
    return out.getvalue()


@pytest.fixture
def tested() -> Lot:
    lot = stuck_lot(days=60, units=40)
    seen = {"observed_at": days_ago(20), "by": person(), "looked_at": 40, "rooted": 38}
    ledger.record(lot, [StrikeCheck(**seen, whole_lot=True)])
    lot.refresh_from_db()
    return lot


def test_what_another_arithmetic_counted_is_worked_anew(tested):
    bench = place(name="7-07")
    stood = {field.attname: getattr(tested, field.attname) for field in Lot._meta.concrete_fields}
    made_at = tested.forecasts.get(moment=Forecast.Moment.NEWEST).made_at
    Lot.objects.update(tested=30, held=30, struck_on=None, stage="stuck", place=bench)
    dry = recount("--dry-run")
    assert Lot.objects.get().tested == 30
    said = recount()
    assert "looked at then is 30 in the book and 40 by its records" in said
    assert "stage is stuck in the book and struck by its records" in said
    assert "place is 7-07 in the book and nothing by its records" in said
    assert said.endswith("1 lot changed.\n")
    assert dry == said.replace("1 lot changed", "1 lot would change")
    lot = Lot.objects.get()
    assert {name: getattr(lot, name) for name in stood} == stood
    assert lot.forecasts.get(moment=Forecast.Moment.NEWEST).made_at > made_at
    assert not audit().faults
    assert recount() == "Every count is what its records say.\n"


def test_a_lot_that_was_never_stuck_has_no_counts(tested):
    lot = planned_lot()
    Lot.objects.filter(pk=lot.pk).update(tested=3, seen_on=tested.stuck_on)
    assert recount().count("\n") == 2
    assert Lot.objects.get(pk=lot.pk).tested == 0
    assert not audit().faults


def test_records_that_do_not_add_up_are_told_and_stay(tested, capsys):
    # As only somebody at the database's own door can: fewer stuck than were looked at.
    Lot.objects.filter(pk=tested.pk).update(stuck_units=30, cells=30)
    with pytest.raises(SystemExit) as ended:
        call_command("recount")
    assert ended.value.code == 1
    assert "takes 40 where 30 are alive" in capsys.readouterr().out
    tested.refresh_from_db()
    assert tested.tested == 40
