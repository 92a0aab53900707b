"""From the book to arrays and back: what a lot's records say of its times and its take, what is
expected of it, and when somebody should look."""

import math
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone
from scipy import stats

from lots import ledger, outlook
from lots.models import Forecast, Loss, Lot, PotUp, StrikeCheck
from lots.outlook import facts, fits, rows, stored_fit
from lots.outlook.prediction import predict, surviving
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return factories.person()


def rows_now():
    known = facts.standing(Lot.objects.filter(stuck_on__isnull=False).order_by("pk"))
    return rows.rows_of(known, rows.usual_pots(known))


def only(**fields):
    """The numbers of the one lot in the book."""
    found = rows_now()
    return {
        "struck": (found.struck_interval.low[0], found.struck_interval.high[0]),
        "finished": (found.finished_interval.low[0], found.finished_interval.high[0]),
        "took": (found.take_bounds.least[0], found.take_bounds.most[0], found.take_bounds.units[0]),
        "ceiling": found.take_bounds.ceiling[0],
        "tells": (bool(found.struck_informs[0]), bool(found.finished_informs[0])),
    }


def test_a_lot_with_its_whole_life_on_record_tells_both_ends_and_its_take(by):
    growing.load(growing.grown(by=by, strikes=38, finishes=150, takes=36))
    assert only() == {
        "struck": (31, 38),
        "finished": (143, 150),
        "took": (36, 36, 48),
        "ceiling": 36,
        "tells": (True, True),
    }


def test_a_lot_in_progress_is_a_bound(by):
    growing.load(growing.grown(days=36, by=by, strikes=38))
    said = only()
    assert said["struck"] == (31, math.inf)
    assert said["took"] == (2, 48, 48)
    assert said["tells"] == (True, True)


def test_a_lot_that_died_took_nothing_and_is_no_time(by):
    growing.load(growing.died(by=by))
    said = only()
    assert said["took"] == (0, 0, 48)
    assert said["tells"] == (False, False)


def test_a_lot_nobody_looked_at_says_nothing(by):
    growing.load((growing.stuck(90), []))
    said = only()
    assert said["tells"] == (False, False)
    assert (said["took"], said["ceiling"]) == ((0, 48, 48), 48)


def test_a_tug_test_of_a_part_is_a_sample(by):
    lot = growing.stuck(60)
    test = StrikeCheck(looked_at=12, rooted=9, by=by, observed_at=growing.moment(20))
    loss = Loss(stage="cell", units=6, reason="rot", by=by, observed_at=growing.moment(20))
    growing.load((lot, [test, loss]))
    said = only()
    # 12 of the 42 alive were looked at: with their share of the 6 lost, 14 stand for 48.
    assert said["took"] == (9, 12, 14)
    assert said["ceiling"] == 42


def test_what_is_lost_and_potted_bounds_the_take(by):
    lot = growing.stuck(80)
    some = {"by": by, "observed_at": growing.moment(30)}
    potted = PotUp(units=20, pots=20, pot_size=factories.potsize(), **some)
    loss = Loss(stage="cell", units=8, reason="rot", **some)
    growing.load((lot, [potted, loss]))
    said = only()
    assert said["took"] == (20, 40, 48)
    assert said["struck"] == (0, 50)  # nobody pots up what has not rooted


def test_a_direct_stuck_lot_counts_its_pots(by):
    lot = growing.stuck(80, direct_pot_size=factories.potsize(), stuck_units=10, planned_units=10)
    loss = Loss(stage="pot", units=3, reason="rot", by=by, observed_at=growing.moment(30))
    growing.load((lot, [loss]))
    assert (only()["took"], only()["ceiling"]) == ((0, 7, 10), 7)


def test_voided_and_disordered_records_change_nothing(by):
    lot, records = growing.grown(by=by)
    wrong = StrikeCheck(looked_at=48, rooted=40, by=by, observed_at=growing.moment(215))
    wrong.voided_at, wrong.voided_by, wrong.voided_why = timezone.now(), by, "wrong lot"
    growing.load((lot, [*reversed(records), wrong]))
    assert only()["struck"] == (31, 38)


def test_a_lot_struck_and_looked_at_on_its_first_day_has_an_interval(by):
    lot = growing.stuck(10)
    there = StrikeCheck(looked_at=48, rooted=48, by=by, observed_at=growing.moment(10))
    growing.load((lot, [there]))
    assert only()["struck"] == (0, 1)
    outlook.refit()
    newest = Forecast.objects.get(lot=lot, moment="newest")
    assert lot.stuck_on <= newest.struck_p10 <= newest.struck_p90 <= lot.stuck_on + timedelta(1)


def test_the_kept_facts_are_those_of_the_records(by):
    """What is read from the lots is what adding up every record to today gives."""
    book = [growing.grown(days=days, by=by) for days in (20, 36, 60, 148, 160, 300)]
    growing.load(*book, growing.died(by=by), growing.died(days=30, by=by))
    lots = Lot.objects.order_by("pk")
    assert facts.standing(lots) == list(facts.as_of(lots, timezone.localdate()))
    assert facts.standing(lots) == facts.of(lots)


def test_an_earlier_day_knows_only_what_had_been_seen(by):
    [lot] = growing.load(growing.grown(by=by))
    day = lot.stuck_on + timedelta(days=37)
    [then] = facts.as_of(Lot.objects.all(), day)
    assert (then.struck_after, then.struck_on) == (lot.stuck_on + timedelta(31), None)
    assert (then.stage, then.cells, then.units_potted) == ("stuck", 48, 0)
    [before] = facts.as_of(Lot.objects.all(), lot.stuck_on - timedelta(days=1))
    assert (before.stage, before.stuck_on, before.start) == ("planned", None, lot.stuck_on)


def test_with_no_lots_it_is_the_handbook_and_says_so(by):
    lot = factories.stuck_lot(days=3)
    newest = lot.forecasts.get(moment="newest")
    assert (newest.basis, newest.lots_struck, newest.lots_take) == ("handbook", 0, 0)
    assert "Common practice" in newest.source
    # The handbook's 28 to 49 days for leaf wedges of rex begonias.
    days = [(day - lot.stuck_on).days for day in (newest.struck_p10, newest.struck_p90)]
    assert days == pytest.approx([28, 49], abs=1)


def test_every_lot_narrows_it(by):
    def width():
        [found] = predict(stored_fit.newest(), facts.of([Lot(**wanted)])).struck.days
        return found[2] - found[0]

    wanted = {"variety": factories.variety(), "method": factories.method(), "planned_units": 48}
    before = width()
    growing.load(*(growing.grown(by=by, variety=wanted["variety"]) for _ in range(3)))
    outlook.refit()
    three = width()
    growing.load(*(growing.grown(by=by, variety=wanted["variety"]) for _ in range(12)))
    outlook.refit()
    assert width() < three < before


def test_more_is_known_of_a_lot_the_further_it_is(by):
    growing.load(*(growing.grown(by=by, takes=takes) for takes in (30, 36, 40, 44)))
    outlook.refit()
    new, potted = growing.load((growing.stuck(2), []), growing.grown(days=100, by=by, takes=31))
    newest = {row.lot_id: row for row in Forecast.objects.filter(moment="newest")}
    assert newest[new.pk].to_come_p10 < newest[new.pk].to_come < newest[new.pk].to_come_p90
    # Nothing but chance losses while they grow on.
    assert 28 <= newest[potted.pk].to_come_p10 <= newest[potted.pk].to_come_p90 <= 31


def test_half_struck_and_the_rest_dead_counts_as_struck(by):
    lot = growing.stuck(80)
    some = {"by": by, "observed_at": growing.moment(40)}
    potted = PotUp(units=20, pots=20, pot_size=factories.potsize(), **some)
    rest = Loss(stage="cell", units=28, reason="rot", by=by, observed_at=growing.moment(30))
    [lot] = growing.load((lot, [potted, rest]))
    assert lot.struck_on == timezone.localdate() - timedelta(days=30)


def test_losses_are_heavy_when_chance_seldom_explains_them(by):
    lot = factories.stuck_lot(units=48)

    def lose(units):
        loss = Loss(units=units, reason="rot", stage="cell", by=by, observed_at=timezone.now())
        ledger.record(lot, [loss])
        lot.refresh_from_db()

    lose(10)
    assert not lot.heavy_losses
    lose(32)
    assert lot.heavy_losses


def test_lateness_is_seldom_after_it_is_late(by):
    lot = factories.stuck_lot(days=10)
    lot.refresh_from_db()
    assert lot.look_on < lot.late_after < lot.seldom_after
    # 1 in 10 and 1 in 40 of the handbook's log-normal from 28 to 49 days.
    late, seldom = ((day - lot.stuck_on).days for day in (lot.late_after, lot.seldom_after))
    assert (late, seldom) == (49, round(37.04 * math.exp(1.96 * 0.2183)))


def test_a_huge_lot_is_forecast_like_a_small_one(by):
    small, huge = factories.stuck_lot(units=500), factories.stuck_lot(units=100_000)
    shares = [
        np.array([row.take_p10, row.take_mean, row.take_p90])
        for row in Forecast.objects.filter(moment="newest", lot__in=[small, huge]).order_by("lot")
    ]
    assert shares[0] == pytest.approx(shares[1], abs=0.005)


def test_a_fit_is_kept_and_read_back_the_same(by):
    growing.load(*(growing.grown(by=by, variety=factories.variety()) for _ in range(4)))
    made = outlook.refit().fits
    known = facts.standing(Lot.objects.all())
    again = fits.load(fits.dump(made))
    assert np.array_equal(predict(made, known).struck.days, predict(again, known).struck.days)
    bands = [predict(of, known).to_come.band.tolist() for of in (stored_fit.newest(), made)]
    assert bands[0] == bands[1]


def test_pots_scatter_as_they_do_in_the_book(by):
    """Lots of one variety go into 7 cm and 14 cm pots by turns: the usual pot lies between, and a
    lot in cells may end in either."""
    variety, method = factories.variety(), factories.method()
    small = factories.potsize(name="7 cm", diameter_cm=7)
    large = factories.potsize(name="14 cm", diameter_cm=14)
    for n in range(6):
        lot, records = growing.grown(by=by, variety=variety, method=method, days=230 + n)
        for record in records:
            if isinstance(record, PotUp):
                record.pot_size = small if n % 2 else large
        growing.load((lot, records))
    growing.load((growing.stuck(3, variety=variety, method=method), []))
    known = facts.standing(Lot.objects.order_by("pk"))
    usual = rows.usual_pots(known)
    found = rows.rows_of(known, usual)
    assert usual.scatter == pytest.approx(np.log(2) / 2 * np.sqrt(6 / 5))
    assert found.finished.pot_cm[-1] == pytest.approx(np.sqrt(7 * 14))
    assert found.finished.pot_var.tolist() == [0.0] * 6 + [pytest.approx(usual.scatter**2)]
    # Which pot it will be changes nothing while it roots.
    assert np.isnan(found.struck.pot_cm).all()


@pytest.mark.parametrize("survival", [1.0, 0.97, 0.9])
@pytest.mark.parametrize(("units", "rate"), [(48, 0.999), (48, 0.75), (24, 0.5), (12, 0.9)])
def test_pots_that_survive_against_the_sum_over_all_that_can_take(units, rate, survival):
    """Units that take are beta-binomial, pots binomial of those."""
    take = stats.betabinom(units, rate * 15, (1 - rate) * 15)
    pots = np.arange(units + 1)
    pmf = (take.pmf(pots)[:, None] * stats.binom.pmf(pots, pots[:, None], survival)).sum(axis=0)
    shares = (0.1, 0.5, 0.9)
    exact = [int(np.argmax(np.cumsum(pmf) >= share - 1e-12)) for share in shares]
    found = surviving(np.array([take.ppf(shares)], dtype=int), np.array([survival]))[0]
    assert found == pytest.approx(exact, abs=1)
