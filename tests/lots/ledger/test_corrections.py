"""Putting right what a stuck lot is: nothing is edited silently, and forecasts follow."""

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse

from lots import ledger, outlook
from lots.ledger import audit
from lots.models import Correction, Cut, Forecast, Lot
from lots.sticking import side_by_side
from tests import factories
from tests.lots.trialling import grow, planned
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


def correct(lot, by=None, **given):
    plain = {
        "variety": lot.variety,
        "method": lot.method,
        "session": lot.session,
        "plants": list(lot.stock_plants.all()),
        "by": by or factories.manager(),
        "why": "the tags were swapped",
    }
    return ledger.correct(lot, **plain | given)


def written(lot):
    return {row.field: (row.before, row.after) for row in lot.corrections.all()}


def test_a_lot_of_the_wrong_variety_is_put_right_and_says_what_stood_there():
    right, boss = factories.stock_plant(health="quarantined"), factories.manager()
    lot = factories.stuck_lot(plants=(factories.stock_plant(),), days=200)
    before = Forecast.objects.get(lot=lot, moment="newest")
    wrong, cut = lot.variety, lot.cuts.get()
    rose = factories.group(name="rose", roots_like="")
    right.variety.group = rose
    right.variety.save()
    lot = correct(lot, boss, variety=right.variety, plants=[right])
    assert written(lot) == {
        "variety": (f"{wrong} ({wrong.code})", f"{right.variety} ({right.variety.code})"),
        "stock_plants": (cut.stock_plant.code, right.code),
    }
    row = lot.corrections.first()
    assert (row.by, row.why) == (boss, "the tags were swapped")
    # The plant takes the turn and the pieces of the one that was named wrongly.
    now = lot.cuts.get()
    assert (now.pk, now.order, now.stock_plant) == (cut.pk, cut.order, right)
    newest = Forecast.objects.get(lot=lot, moment="newest")
    assert newest.made_at > before.made_at
    assert newest.struck_p90 != before.struck_p90
    assert audit.audit().faults == []


def test_the_forecast_at_sticking_knows_nothing_of_later():
    """One of an older lot is worked out again from what had been seen by then, and marked so."""
    old, new = factories.stuck_lot(days=200), factories.stuck_lot(days=0)
    tips = factories.method(name="tip", source_part="stem", cut_like="tip cutting")
    for lot in (old, new):
        correct(lot, method=tips)
    at_sticking = Forecast.objects.filter(moment="sticking")
    assert list(at_sticking.values_list("lot", flat=True)) == [new.pk]
    outlook.refit()
    assert at_sticking.get(lot=old).hindsight
    assert not at_sticking.get(lot=new).hindsight


def test_a_lot_moves_to_the_end_of_another_session():
    other = factories.session()
    plants = [factories.stock_plant() for _ in range(2)]
    there = factories.stuck_lot(plants=(plants[0],), session=other, line=4)
    Cut.objects.filter(lot=there).update(order=7)
    lot = correct(factories.stuck_lot(plants=(plants[1],)), session=other)
    assert (lot.session, lot.line, lot.cuts.get().order) == (other, 5, 8)
    assert written(lot)["session"][1] == other.code
    assert correct(lot, session=None).session is None


def test_plants_are_added_and_taken_away():
    first = factories.stock_plant()
    more = [factories.stock_plant(variety=first.variety) for _ in range(2)]
    lot = correct(factories.stuck_lot(plants=(first,)), plants=[first, *more])
    orders = {cut.stock_plant: cut.order for cut in lot.cuts.all()}
    assert orders == {first: 0, more[0]: 1, more[1]: 2}
    assert not lot.cuts.get(stock_plant=more[0]).disinfected_before
    assert list(correct(lot, plants=[]).cuts.all()) == []


def refused(lot, **given):
    with pytest.raises(ledger.Refused) as refusal:
        correct(lot, **given)
    assert not Correction.objects.filter(lot=lot).exists()
    return str(refusal.value)


def test_what_cannot_be_is_refused_and_changes_nothing():
    lot = factories.stuck_lot(plants=(factories.stock_plant(),))
    other = factories.variety()
    assert "not Begonia" in refused(lot, variety=other)  # the plants are of the old one
    shut = factories.variety(protected=True)
    assert "licence" in refused(lot, variety=shut, plants=[])
    assert "what was wrong" in refused(lot, variety=other, plants=[], why=" ")
    assert "says this already" in refused(lot)
    kept = factories.stock_plant(variety=lot.variety, origin="own", from_lot=lot)
    assert kept.code in refused(lot, variety=other, plants=[])
    assert "not stuck" in refused(factories.planned_lot(), variety=other)
    lot.refresh_from_db()
    assert lot.variety != other


def test_a_count_said_again_keeps_the_first_and_a_lot_taken_back_says_so():
    ana, boss = factories.person(), factories.manager()
    lot = factories.stuck_lot(units=48, by=ana, days=0)
    ledger.stick(lot, units=45, on=lot.stuck_on, by=ana, confirmed_by=boss, why="counted again")
    row = Correction.objects.get()
    assert (row.field, row.before, row.after) == ("stuck_units", "48", "45")
    assert (row.by, row.why) == (boss, "counted again")
    ledger.not_stuck(lot, by=boss)
    assert written(lot)["stuck_by"] == (ana.name, "")
    assert audit.audit().faults == []


def test_a_correction_is_never_edited_or_deleted():
    correct(factories.stuck_lot(plants=(factories.stock_plant(),)), plants=[])
    for change in (
        lambda: Correction.objects.update(why="nothing"),
        lambda: Correction.objects.all().delete(),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()


def address(lot, name="lot-correct"):
    return reverse(name, args=[lot.code])


def test_a_manager_corrects_on_a_page_that_keeps_what_was_typed(client, boss):
    lot = factories.stuck_lot(plants=(factories.stock_plant(),))
    gone = factories.stock_plant(health="gone")
    assert address(lot) in [
        e.get("href") for e in elements(client.get(address(lot, "lot")), "main a")
    ]
    sent = {"variety": gone.variety.code, "method": lot.method_id, "session": "", "why": "swapped"}
    answer = client.post(address(lot), sent | {"plants": [lot.cuts.get().stock_plant_id]})
    assert answer.status_code == 422
    assert "another variety were ticked" in " ".join(select(answer, ".errorlist"))
    assert elements(answer, "[name=why]")[0].get("value") == "swapped"
    assert gone.code in " ".join(select(answer, "#plants label"))
    answer = client.post(address(lot), sent | {"plants": [gone.pk]}, follow=True)
    shown = " ".join(select(answer, ".history li"))
    assert f"Variety: {lot.variety} ({lot.variety.code}) → " in shown
    assert "swapped" in shown
    assert "MM" in shown  # by whom
    assert Lot.objects.get().session is None


def test_the_plants_of_a_variety_typed_anew_are_shown_unticked(client, boss):
    lot = factories.stuck_lot(plants=(factories.stock_plant(),))
    plant = factories.stock_plant()
    asked = {"plants-of": "", "variety": plant.variety.code}
    [box] = elements(client.get(address(lot), asked), "[name=plants]")
    assert (box.get("value"), box.get("checked")) == (str(plant.pk), None)


def test_a_grower_may_not_and_a_planned_lot_has_its_line(client, grower):
    lot = factories.planned_lot()
    assert client.get(address(lot)).status_code == 403
    client.force_login(factories.manager())
    assert client.get(address(lot)).url == address(lot, "lot")


def test_a_lot_of_another_variety_leaves_its_trial():
    trial = planned(flats=1)
    grow(trial, factories.person(), a=6, b=6)
    lot = side_by_side.beds(trial)[0].lots[0]
    assert correct(lot, variety=factories.variety(), plants=[]).arm is None
    assert written(lot)["arm"][1] == ""
    assert side_by_side.beds(trial)[0].left_out
