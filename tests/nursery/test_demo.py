"""The demo nursery: the same for a seed and a day, true to the ledger, never over a real book."""

from datetime import date, timedelta
from hashlib import sha256
from io import StringIO

import pytest
from django.contrib.auth import authenticate
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection, transaction
from django.db.models import F
from django.utils import timezone

from lots import codes, tally
from lots.models import (
    RECORDS,
    Cut,
    Lot,
    Move,
    Stage,
    StickingSession,
    StockPlant,
    Target,
    Trial,
    Variety,
)
from lots.models.lot import COUNTS
from lots.models.stock import Health
from lots.sticking import side_by_side
from nursery.demo import catalogue
from nursery.demo.book import fill
from nursery.demo.load import load
from nursery.models import DemoBook, Person
from tests import factories

pytestmark = pytest.mark.django_db
DAY = date(2026, 3, 10)
OF_LOT = [
    *("code", "variety__code", "method__name", "session__code", "line", "flat__code"),
    *("first_place__name", "place__name", "direct_pot_size__name", "planned_units"),
    *("stuck_on", "stuck_units", "stuck_by__username", "stage", "look_on", "note", *COUNTS),
]


def digest() -> str:
    """Of the whole book, by what it says and not by its row numbers."""
    said = [
        list(Lot.objects.order_by("code").values_list(*OF_LOT)),
        list(
            Cut.objects.order_by("lot__code", "order").values_list(
                "lot__code", "stock_plant__code", "pieces", "order", "disinfected_before"
            )
        ),
        list(
            StockPlant.objects.order_by("code").values_list(
                "code", "since", "health", "origin", "from_lot__code", "place__name"
            )
        ),
        list(Target.objects.order_by("pk").values_list("variety__code", "pots", "wanted_by")),
    ]
    for model in RECORDS.values():
        own = [
            field.name
            for field in model._meta.concrete_fields
            if not field.is_relation and field.name != "id"
        ]
        said.append(
            list(
                model.objects.order_by("uuid").values_list(
                    *own, "lot__code", "by__username", "voided_by__username"
                )
            )
        )
    return sha256(repr(said).encode()).hexdigest()


def digest_of(**wanted) -> str:
    with transaction.atomic():
        load(**({"day": DAY, "lots": 60, "seed": 5, "password": "x"} | wanted))
        found = digest()
        transaction.set_rollback(True)
    return found


def test_a_seed_and_a_day_say_it_all():
    same = digest_of()
    assert digest_of(password="another") == same
    assert len({same, digest_of(seed=6), digest_of(day=DAY + timedelta(days=1))}) == 3


def test_every_lot_is_what_its_records_add_up_to():
    load(day=DAY, lots=200, seed=1, password="x")
    records = {}
    for model in RECORDS.values():
        for entry in model.objects.filter(voided_at=None):
            records.setdefault(entry.lot_id, []).append(entry.event())
    stuck = Lot.objects.filter(stuck_on__isnull=False)
    assert stuck.count() > 150
    for lot in stuck:
        counts = tally.replay(
            lot.stuck_units,
            direct=lot.direct,
            events=records.get(lot.pk, []),
            place=lot.first_place_id,
        )
        assert {name: getattr(lot, name) for name in COUNTS} == {
            name: getattr(counts, name) for name in COUNTS
        }
        assert lot.stage == tally.stage(counts)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_lots_stand_in_every_stage(seed):
    load(day=DAY, lots=300, seed=seed, password="x")
    assert set(Lot.objects.values_list("stage", flat=True)) == set(Stage.values)
    assert Lot.objects.count() == 300
    assert any(model.objects.exclude(voided_at=None).exists() for model in RECORDS.values())


def test_each_flat_stands_at_one_place_and_its_pots_leave_it():
    load(day=DAY, lots=200, seed=1, password="x")
    stood = set(Lot.objects.filter(flat__isnull=False).values_list("flat", "first_place"))
    assert len(stood) == len({flat for flat, _place in stood}) > 50
    cells = Lot.objects.filter(flat__isnull=False, cells__gt=0)
    assert not cells.exclude(place=F("first_place")).exists()
    assert {*Move.objects.values_list("what", flat=True)} == {"pots"}


def test_the_records_are_of_working_hours_before_the_day():
    load(day=DAY, lots=100, seed=1, password="x")
    for model in RECORDS.values():
        for entry in model.objects.select_related("lot"):
            seen = timezone.localtime(entry.observed_at)
            assert 7 <= seen.hour <= 17
            assert entry.lot.stuck_on < seen.date() < DAY
            assert seen < entry.recorded_at
            last = entry.voided_at or entry.recorded_at
            assert timezone.localtime(last).date() < DAY


def test_lots_are_cut_from_plants_of_their_variety_that_were_there():
    load(day=DAY, lots=200, seed=1, password="x")
    for lot in Lot.objects.select_related("session"):
        assert codes.read(lot.code) == lot.code
        cuts = list(lot.cuts.select_related("stock_plant__from_lot"))
        assert sum(cut.pieces for cut in cuts) == lot.units * lot.pieces_per_unit
        for cut in cuts:
            plant = cut.stock_plant
            assert plant.variety_id == lot.variety_id
            assert plant.since < lot.session.day
            if plant.from_lot:
                assert plant.from_lot.stuck_on < plant.since
    assert StockPlant.objects.filter(from_lot__isnull=False).exists()
    assert {*StockPlant.objects.values_list("health", flat=True)} == {*Health.values}


def test_what_may_not_be_propagated_is_not():
    load(day=DAY, lots=200, seed=1, password="x")
    unlicensed = Variety.objects.get(protected=True, licence="")
    assert not unlicensed.lots.exists()
    assert Variety.objects.filter(protected=True).exclude(licence="").count() == 2
    assert Variety.objects.count() >= 40
    assert len({*Variety.objects.values_list("group", flat=True)}) >= 6


def test_tomorrows_session_is_ready_to_cut():
    load(day=DAY, lots=100, seed=1, password="x")
    session = StickingSession.objects.get(day=DAY + timedelta(days=1))
    assert session.led_by.is_manager
    assert 8 <= session.lots.filter(stage=Stage.PLANNED).count() <= 12
    cuts = list(Cut.objects.filter(lot__session=session).select_related("lot", "stock_plant"))
    assert [cut.order for cut in cuts] == list(range(1, len(cuts) + 1))
    assert all(cut.stock_plant.may_be_cut for cut in cuts)
    varieties = [cut.lot.variety_id for cut in cuts]
    starts = [a != b for a, b in zip([None, *varieties], varieties, strict=False)]
    assert [cut.disinfected_before for cut in cuts] == starts
    assert sum(starts) == len({*varieties})


def test_all_half_or_none_may_take():
    load(day=DAY, lots=600, seed=1, password="x")
    closed = Lot.objects.filter(stage=Stage.CLOSED, direct_pot_size=None)
    assert closed.filter(units_potted=F("stuck_units")).exists()
    assert closed.filter(units_potted__lt=F("stuck_units") / 2, units_potted__gt=0).exists()
    assert closed.filter(units_potted=0).exists()


def test_a_real_morning():
    """About a week's work stands due, and only a handful is overdue."""
    load(day=DAY, lots=900, seed=3, password="x")
    due = Lot.objects.filter(look_on__lte=DAY).count()
    overdue = Lot.objects.filter(look_on__lt=DAY).count()
    late = Lot.objects.filter(late_after__lt=DAY).count()
    losing = Lot.objects.filter(heavy_losses=True).count()
    assert 5 <= due <= 30  # fewer at the end of winter
    assert 1 <= overdue <= 9
    assert 1 <= late <= 12
    assert 1 <= losing <= 12


def trials_of(**wanted) -> list[tuple]:
    """Question, draw, verdict and counts of each trial of a demo, oldest first."""
    with transaction.atomic():
        load(**({"day": DAY, "lots": 200, "seed": 5, "password": "x"} | wanted))
        found = []
        for trial in Trial.objects.order_by("session__day"):
            beds = side_by_side.beds(trial)
            told = [bed.told for bed in beds]
            found.append((trial.question, trial.cells, side_by_side.result(beds), told))
        transaction.set_rollback(True)
    return found


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_one_trial_is_through_with_a_clear_result_and_one_is_under_way(seed):
    (_, cells, verdict, told), (_, _, _, so_far) = trials_of(seed=seed)
    assert len(told) == len(cells)
    assert all(None not in flat for flat in told)
    assert verdict.first > verdict.second
    assert verdict.p < 0.01
    assert any(None in flat for flat in so_far)


def test_the_trials_of_a_seed_and_a_day_are_the_same():
    assert trials_of() == trials_of(password="another")
    assert trials_of() != trials_of(seed=6)


def test_the_arms_of_a_trial_come_from_the_same_plants_by_the_same_hands():
    load(day=DAY, lots=200, seed=1, password="x")
    for trial in Trial.objects.all():
        lots = Lot.objects.filter(arm__trial=trial)
        assert lots.values("stuck_on", "stuck_by", "first_place").distinct().count() == 1
        plants = {tuple(lot.cuts.values_list("stock_plant", "pieces")) for lot in lots}
        assert len(plants) == 1
        assert sorted(lots.values_list("flat__code", "arm__letter")) == [
            (trial.flat_code(number), letter)
            for number in range(1, len(trial.cells) + 1)
            for letter in "AB"
        ]


def test_a_small_demo_has_no_room_for_trials():
    load(day=DAY, lots=60, seed=1, password="x")
    assert not Trial.objects.exists()


def demo(**options) -> str:
    out = StringIO()
    call_command("demo", no_serve=True, stdout=out, **({"lots": 20} | options))
    return out.getvalue()


def test_the_command_says_who_and_where(settings):
    settings.NURSERY_ADDRESS = "https://book.example.org"
    said = demo()
    password = said.split("the password ")[1].split()[0]
    for name, manager in [("grower", False), ("manager", True)]:
        assert f"Sign in as {name} with the password {password}" in said
        person = Person.objects.get(username=name)
        assert person.check_password(password)
        assert person.is_manager == manager
    assert "http://127.0.0.1:8000/" in said
    assert "https://book.example.org/" in said
    assert said.count("█▀") > 10
    assert Person.objects.count() == len(catalogue.PEOPLE)
    mark = DemoBook.objects.get()
    assert (mark.day, mark.lots, mark.seed) == (timezone.localdate(), 20, 1)


def test_a_demo_of_today_stays_and_takes_the_new_password(rf):
    demo(password="first-password")
    before = digest()
    Lot.objects.update(note="typed by hand")
    demo(password="second-password")
    assert not Lot.objects.exclude(note="typed by hand").exists()
    assert digest() != before
    signing_in = rf.post("/sign-in/")
    assert authenticate(signing_in, username="grower", password="second-password")
    assert not authenticate(signing_in, username="grower", password="first-password")


@pytest.mark.parametrize(
    "old", [{"day": timezone.localdate() - timedelta(days=1)}, {"lots": 10}, {"seed": 9}]
)
def test_another_demo_is_replaced(old):
    fill(**({"day": timezone.localdate(), "lots": 20, "seed": 1, "password": "x"} | old))
    codes_before = {*Lot.objects.values_list("code", flat=True)}
    connection.check_constraints()  # PostgreSQL empties no table with constraints yet to check
    demo()
    assert DemoBook.objects.get().day == timezone.localdate()
    assert Lot.objects.count() == 20
    assert codes_before.isdisjoint(Lot.objects.values_list("code", flat=True))


def test_a_real_book_is_refused_and_left_alone():
    factories.stuck_lot(by=factories.manager())
    before, people = digest(), list(Person.objects.values())
    with pytest.raises(CommandError, match="holds a real book"):
        demo()
    assert (digest(), list(Person.objects.values())) == (before, people)


def test_one_person_makes_a_book_real():
    factories.manager()
    with pytest.raises(CommandError, match="holds a real book"):
        demo()
    assert Person.objects.count() == 1


@pytest.mark.parametrize("option", [{"lots": 0}, {"seed": -1}])
def test_nonsense_is_told(option):
    with pytest.raises(CommandError, match="has to be"):
        demo(**option)
