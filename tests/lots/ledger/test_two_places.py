"""A lot whose cells stand at one place and whose pots at another: what its records add up to."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lots import ledger, tally
from lots.models import Lot
from lots.tally import Event, Impossible, replay
from tests.factories import person, place, potsize, stuck_lot
from tests.lots.entries import days_ago, leave, move, potup, refused
from tests.lots.test_tally import of, on

BENCH, HOUSE, YARD = 7, 8, 9  # 7 is where the lots of `of` are stuck


def pots(day: int, units: int = 4) -> Event:
    return on(day, "potup", units=units, pots=units)


def moved(day: int, to: int, what: str = "all") -> Event:
    return on(day, "move", place=to, what=what)


GONE = on(50, "leave", stage="growing", pots=4)


@pytest.mark.parametrize(
    ("events", "where"),
    [
        ([], (BENCH, None)),
        ([moved(30, HOUSE)], (HOUSE, None)),
        ([moved(30, HOUSE, "cells")], (HOUSE, None)),
        ([pots(40)], (BENCH, None)),
        ([pots(40), moved(41, HOUSE, "pots")], (BENCH, HOUSE)),
        ([pots(40), moved(41, HOUSE, "cells")], (HOUSE, BENCH)),
        ([pots(40), moved(41, HOUSE)], (HOUSE, None)),
        ([pots(40), moved(41, HOUSE, "pots"), moved(42, YARD)], (YARD, None)),
        ([pots(40), moved(41, HOUSE, "pots"), moved(42, HOUSE, "cells")], (HOUSE, None)),
        # At the same moment the move comes first, and says where the pots are put.
        ([pots(40), moved(40, HOUSE, "pots")], (BENCH, HOUSE)),
        ([moved(30, HOUSE, "pots"), pots(40)], (BENCH, HOUSE)),
        ([pots(40), moved(40, HOUSE)], (HOUSE, None)),
        # Later pots join the first; when these are all gone, they start anew from the cells.
        ([pots(40), moved(41, HOUSE, "pots"), pots(50)], (BENCH, HOUSE)),
        ([pots(40), moved(41, HOUSE, "pots"), GONE], (BENCH, None)),
        ([pots(40), moved(41, HOUSE, "pots"), GONE, pots(60)], (BENCH, None)),
        ([pots(40), moved(41, HOUSE, "pots"), GONE, pots(60), moved(60, YARD, "pots")],
         (BENCH, YARD)),
        # Without cells it stands where its pots do, and there it stood when the last went out.
        ([pots(40, 10), moved(41, HOUSE, "pots")], (HOUSE, None)),
        ([pots(40, 10), moved(41, HOUSE, "pots"), moved(42, YARD, "cells")], (HOUSE, None)),
        ([pots(40, 10), moved(41, HOUSE, "pots"), replace(GONE, pots=10)], (HOUSE, None)),
        ([moved(30, HOUSE, "pots")], (BENCH, None)),
    ],
)  # fmt: skip
def test_where_cells_and_pots_stand(events, where):
    counts = of(*events)
    assert (counts.place, counts.pots_place) == where
    counts = of(*reversed(events))
    assert (counts.place, counts.pots_place) == where


def test_a_direct_stuck_lot_is_where_its_pots_are():
    counts = of(moved(30, HOUSE, "pots"), direct=True)
    assert (counts.place, counts.pots_place) == (HOUSE, None)
    assert of(direct=True).place == BENCH


def test_pots_that_nobody_gave_a_place_stand_with_the_cells():
    events = [pots(40), moved(41, HOUSE, "cells")]
    counts = replay(10, direct=False, events=events, place=None)
    assert (counts.place, counts.pots_place) == (HOUSE, None)


EVENTS = st.one_of(
    st.builds(moved, st.integers(1, 6), st.integers(1, 4), st.sampled_from(["cells", "pots"])),
    st.builds(moved, st.integers(1, 6), st.integers(1, 4)),
    st.builds(pots, st.integers(1, 6), st.integers(1, 6)),
    st.builds(on, st.integers(1, 6), st.just("leave"), stage=st.just("growing"), pots=st.just(2)),
    st.builds(on, st.integers(1, 6), st.just("loss"), stage=st.just("cell"), units=st.just(3)),
)


@settings(max_examples=200, deadline=None)
@given(st.lists(EVENTS, max_size=9, unique_by=lambda event: (event.at, event.kind)), st.randoms())
def test_whatever_is_moved_when(events, chance):
    try:
        counts = of(*events)
    except Impossible:
        return
    shuffled = chance.sample(events, len(events))
    assert of(*shuffled) == counts
    still = of(*(event for event in events if event.kind != "move"))
    assert unplaced(still) == unplaced(counts)
    assert (still.place, still.pots_place) == (BENCH, None)
    if counts.cells:
        assert counts.place == last_place(events, "cells") or BENCH
    if counts.pots_here:
        since = pots_since(events)
        told = [event for event in events if event.at >= since]
        stands = counts.pots_place or counts.place
        if sent := last_place(told, "pots"):
            assert stands == sent
    # What every move of a book of before this said.
    whole = [replace(event, what="all") for event in events if event.kind == "move"]
    counts = of(*whole, *(event for event in events if event.kind != "move"))
    assert (counts.place, counts.pots_place) == (last_place(whole, "cells") or BENCH, None)


def unplaced(counts: tally.Counts) -> tally.Counts:
    return replace(counts, cells_at=None, pots_at=None, awaits_pots=False)


def last_place(events: list[Event], what: str) -> int | None:
    """Where the last move put the cells, or the pots."""
    moves = [e for e in tally.in_order(events) if e.kind == "move" and e.what in (what, "all")]
    return moves[-1].place if moves else None


def pots_since(events: list[Event]):
    """The moment since which there have been pots without a break."""
    here, since = 0, None
    for event in tally.in_order(events):
        if event.kind == "potup":
            since = since if here else event.at
            here += event.pots
        elif event.kind == "leave":
            here -= event.pots
    return since


@pytest.fixture
def anna(db):
    return person()


def where(lot: Lot) -> tuple:
    lot = Lot.objects.get(pk=lot.pk)
    return lot.place, lot.pots_place


def test_the_book_keeps_both_places_and_one_when_there_is_one(anna):
    bench, house = place(), place()
    lot = stuck_lot(days=90, units=20, place=bench)
    at = days_ago(40)
    ledger.record(lot, [potup(anna, 12, at), move(anna, house, at, what="pots")])
    assert where(lot) == (bench, house)
    ledger.record(lot, [potup(anna, 8, days_ago(30))])
    assert where(lot) == (house, None)
    ledger.record(lot, [leave(anna, 20, days_ago(9), stage="growing")])
    assert where(lot) == (house, None)


def test_a_direct_stuck_lot_has_no_cells_to_move(anna):
    lot = stuck_lot(direct_pot_size=potsize())
    refusal = refused(lot, move(anna, place(), what="cells"))
    assert refusal.field == "what"
    assert "no cells" in str(refusal)
