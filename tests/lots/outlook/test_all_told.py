"""When the book knows how many units of a lot took, and how many that is."""

import pytest

from lots.models import Finish, Leave, Loss, Lot, PotUp, StrikeCheck
from lots.outlook import facts, rows
from tests import factories
from tests.lots import growing

pytestmark = pytest.mark.django_db
UNITS = 24


@pytest.fixture
def by():
    return factories.person()


def told(by, *events, direct=False):
    """How many took of a lot of 24 stuck 100 days ago, None while the book doesn't know. Events:
    day after sticking, kind, and the numbers of the kind."""
    pot = factories.potsize()
    made = {
        "check": lambda looked_at, rooted: StrikeCheck(looked_at=looked_at, rooted=rooted),
        "lost": lambda units: Loss(stage="pot" if direct else "cell", units=units, reason="rot"),
        "potted": lambda units: PotUp(units=units, pots=units, pot_size=pot),
        "finished": lambda pots: Finish(pots=pots),
        "sold": lambda pots: Leave(pots=pots),
    }
    records = []
    for age, kind, *numbers in events:
        record = made[kind](*numbers)
        record.by, record.observed_at = by, growing.moment(100 - age)
        records.append(record)
    lot = growing.stuck(
        100, planned_units=UNITS, stuck_units=UNITS, direct_pot_size=pot if direct else None
    )
    growing.load((lot, records))
    [known] = facts.standing(Lot.objects.all())
    took = rows.rows_of([known], rows.usual_pots([known])).take_bounds
    if not rows.all_told(known):
        assert took.least[0] < took.ceiling[0]
        return None
    # The forecast is told the same.
    assert took.least[0] == took.most[0] == took.ceiling[0] == rows.taken(known)
    return rows.taken(known)


@pytest.mark.parametrize(
    ("events", "took"),
    [
        # Every unit that lives held: nothing more can take, at the first look already.
        ([(30, "check", 24, 24)], 24),
        ([(30, "check", 20, 20), (30, "lost", 4)], 20),
        ([(30, "check", 24, 20), (30, "lost", 4)], 20),
        # Not all that live have held.
        ([(30, "check", 24, 20)], None),
        ([(30, "check", 12, 12)], None),
        ([(30, "check", 24, 24), (37, "check", 24, 20)], None),
        # What is lost later was what didn't hold, as far as that goes.
        ([(30, "check", 24, 20), (37, "lost", 3)], None),
        ([(30, "check", 24, 20), (37, "lost", 4)], 20),
        ([(30, "check", 24, 24), (37, "lost", 5)], 19),
        ([(30, "check", 24, 20), (37, "lost", 9)], 15),
        # Of a sample that held nobody knows whether it is what was lost.
        ([(30, "check", 12, 12), (37, "lost", 12)], None),
        ([(30, "check", 12, 8), (60, "check", 12, 8), (65, "lost", 12)], None),
        # Potting up what held changes nothing, nor does a loss in pots.
        ([(30, "check", 24, 24), (44, "potted", 14)], 24),
        ([(30, "check", 24, 24), (44, "potted", 14), (44, "lost", 2)], 22),
        ([(30, "check", 24, 20), (44, "potted", 20)], None),
        ([(30, "check", 24, 20), (44, "potted", 20), (50, "lost", 4)], 20),
        # All potted up or lost, whatever was seen before.
        ([(44, "potted", 14), (44, "lost", 10)], 14),
        ([(30, "lost", 24)], 0),
        # A test of the whole lot long after it struck.
        ([(30, "check", 24, 13), (47, "check", 24, 20)], None),
        ([(30, "check", 24, 13), (48, "check", 24, 20)], 20),
        ([(30, "check", 24, 13), (48, "check", 24, 20), (55, "lost", 2)], 20),
    ],
)
def test_a_lot_in_cells(by, events, took):
    assert told(by, *events) == took


@pytest.mark.parametrize(
    ("events", "took"),
    [
        ([(30, "check", 24, 24)], 24),
        ([(30, "check", 24, 24), (40, "lost", 2)], 22),
        ([(30, "check", 24, 22)], None),
        ([(30, "check", 24, 22), (40, "lost", 2)], 22),
        ([(30, "check", 12, 12), (40, "lost", 12)], None),
        ([(30, "check", 24, 24), (90, "finished", 12), (95, "sold", 12)], 24),
        ([(30, "check", 12, 12), (90, "finished", 12), (95, "sold", 12)], None),
        ([(40, "lost", 4), (90, "finished", 20)], 20),
    ],
)
def test_a_lot_stuck_straight_into_pots(by, events, took):
    assert told(by, *events, direct=True) == took
