"""What a lot's records add up to: each kind of record, in order, up to its last unit."""

from datetime import UTC, date, datetime, timedelta

import pytest

from lots import tally
from lots.tally import Event, Impossible, replay, stage

STUCK_ON = datetime(2026, 3, 2, 9, tzinfo=UTC)


def on(day: int, kind: str, **what) -> Event:
    at = STUCK_ON + timedelta(days=day)
    return Event(kind=kind, at=at, day=at.date(), **what)


def day(number: int) -> date:
    return (STUCK_ON + timedelta(days=number)).date()


def check(number: int, looked_at: int, rooted: int) -> Event:
    return on(number, "check", looked_at=looked_at, rooted=rooted)


def of(*events: Event, stuck: int = 10, direct: bool = False) -> tally.Counts:
    return replay(stuck, direct=direct, events=events, place=7)


def test_a_lot_of_which_nothing_is_recorded_is_all_in_its_cells():
    counts = of()
    assert (counts.cells, counts.pots_made, counts.place) == (10, 0, 7)
    assert counts.struck_on is counts.finished_on is counts.seen_on is None
    assert stage(counts) == "stuck"


def test_a_lot_from_the_knife_to_the_last_pot_sold():
    counts = of(
        on(20, "loss", stage="cell", units=2),
        check(30, 8, 5),
        on(40, "potup", units=6, pots=5),
        on(60, "loss", stage="pot", units=1),
        on(90, "finish", pots=3),
        on(95, "leave", stage="finished", pots=2),
        on(96, "leave", stage="growing", pots=1),
    )
    assert (counts.cells, counts.cells_lost, counts.units_potted) == (2, 2, 6)
    assert (counts.pots_made, counts.pots_growing, counts.pots_lost) == (5, 0, 1)
    assert (counts.pots_finished, counts.pots_left) == (1, 3)
    assert (counts.struck_on, counts.finished_on, counts.seen_on) == (day(30), day(90), day(96))


def test_a_direct_stuck_lot_is_pots_from_the_first_day():
    counts = of(on(9, "loss", stage="pot", units=4), on(90, "finish", pots=6), direct=True)
    assert (counts.cells, counts.units_potted) == (0, 0)
    assert (counts.pots_made, counts.pots_lost, counts.pots_finished) == (10, 4, 6)


def test_a_move_changes_the_place_and_is_no_look():
    counts = of(on(3, "move", place=8), on(2, "move", place=9))
    assert (counts.place, counts.seen_on) == (8, None)


@pytest.mark.parametrize(
    ("event", "what", "has", "wants"),
    [
        (on(1, "loss", stage="cell", units=11), "cells", 10, 11),
        (on(1, "loss", stage="pot", units=1), "growing", 0, 1),
        (on(1, "potup", units=11, pots=11), "cells", 10, 11),
        (on(1, "finish", pots=1), "growing", 0, 1),
        (on(1, "leave", stage="growing", pots=1), "growing", 0, 1),
        (on(1, "leave", stage="finished", pots=1), "finished", 0, 1),
        (check(1, 11, 0), "living", 10, 11),
    ],
    ids=lambda value: value.kind if isinstance(value, Event) else "",
)
def test_more_than_there_is_is_impossible_and_says_how_much_there_was(event, what, has, wants):
    with pytest.raises(Impossible) as fault:
        of(event)
    assert (fault.value.event, fault.value.what) == (event, what)
    assert (fault.value.has, fault.value.wants) == (has, wants)


def test_all_that_there_is_is_possible():
    counts = of(
        check(1, 10, 0),
        on(1, "loss", stage="cell", units=3),
        on(1, "potup", units=7, pots=7),
        on(1, "finish", pots=7),
        on(1, "leave", stage="finished", pots=7),
    )
    assert stage(counts) == "closed"
    assert (counts.cells_lost, counts.units_potted, counts.pots_left) == (3, 7, 7)


def test_records_are_taken_by_moment_whatever_their_order():
    late = [on(50, "finish", pots=10), on(40, "potup", units=10, pots=10), check(30, 10, 9)]
    assert of(*late) == of(*reversed(late))


def test_records_of_one_moment_are_taken_in_the_fixed_order_of_kinds():
    """Check, loss, move, pot-up, finish, leave: a check sees what the loss of the same save
    takes away, and a pot is potted, finished and sold in one go."""
    events = [
        on(30, "leave", stage="finished", pots=1),
        on(30, "finish", pots=1),
        on(30, "potup", units=1, pots=1),
        on(30, "move", place=2),
        on(30, "loss", stage="cell", units=9),
        check(30, 10, 1),
    ]
    assert [event.kind for event in tally.in_order(events)] == list(tally.ORDER)
    assert of(*events) == of(*reversed(events))


def test_an_earlier_loss_is_impossible_at_the_later_record_that_no_longer_fits():
    potted = on(40, "potup", units=8, pots=8)
    with pytest.raises(Impossible) as fault:
        of(potted, on(20, "loss", stage="cell", units=3))
    assert fault.value.event is potted
    assert (fault.value.has, fault.value.wants) == (7, 8)


@pytest.mark.parametrize(
    ("events", "struck"),
    [
        ([check(30, 10, 4)], None),
        ([check(30, 10, 5)], 30),
        ([check(30, 3, 1)], None),
        ([check(30, 3, 2)], 30),
        ([check(30, 10, 4), check(37, 10, 6), check(44, 10, 9)], 37),
        ([on(30, "potup", units=4, pots=4)], None),
        ([on(30, "potup", units=5, pots=5)], 30),
        ([on(20, "loss", stage="cell", units=4), on(30, "potup", units=3, pots=3)], 30),
    ],
)
def test_a_lot_is_struck_when_half_of_its_living_units_are(events, struck):
    assert of(*events).struck_on == (struck and day(struck))


@pytest.mark.parametrize(
    ("events", "finished"),
    [
        ([on(90, "finish", pots=4)], None),
        ([on(90, "finish", pots=5)], 90),
        ([on(90, "finish", pots=4), on(97, "finish", pots=1)], 97),
        ([on(80, "loss", stage="pot", units=2), on(90, "finish", pots=4)], 90),
        (
            [
                on(90, "finish", pots=4),
                on(91, "leave", stage="finished", pots=4),
                on(97, "finish", pots=1),
            ],
            97,
        ),
    ],
)
def test_a_lot_is_finished_when_half_of_its_living_units_are(events, finished):
    assert of(*events, direct=True).finished_on == (finished and day(finished))


@pytest.mark.parametrize(
    ("events", "word"),
    [
        ([], "stuck"),
        ([check(30, 10, 5)], "struck"),
        ([on(30, "potup", units=1, pots=1)], "growing"),
        ([on(30, "potup", units=10, pots=10), on(90, "finish", pots=5)], "finished"),
        ([on(30, "loss", stage="cell", units=10)], "closed"),
        (
            [on(30, "potup", units=10, pots=10), on(90, "leave", stage="growing", pots=10)],
            "closed",
        ),
    ],
)
def test_where_a_lot_stands_in_one_word(events, word):
    assert stage(of(*events)) == word


LOST_FOUR = on(44, "loss", stage="cell", units=4)


@pytest.mark.parametrize(
    ("events", "tested", "held"),
    [
        ([check(30, 6, 5)], 6, 5),
        ([check(30, 6, 5), on(30, "loss", stage="cell", units=4)], 6, 5),  # what lives, all of it
        ([check(30, 6, 5), on(37, "loss", stage="cell", units=2)], 6, 5),
        ([check(30, 6, 6), on(37, "loss", stage="cell", units=4)], 5, 5),
        ([check(30, 6, 3), on(37, "loss", stage="cell", units=5)], 4, 3),
        ([check(30, 10, 9), on(37, "loss", stage="cell", units=4)], 10, 9),
        ([check(30, 6, 6), on(37, "loss", stage="cell", units=10)], 0, 0),
        ([check(30, 6, 6), on(37, "potup", units=5, pots=5), LOST_FOUR], 5, 5),
        ([on(37, "loss", stage="cell", units=4), check(44, 6, 6)], 6, 6),
    ],
)
def test_a_sample_stays_one_when_others_are_lost_on_a_later_day(events, tested, held):
    counts = of(*events)
    assert (counts.tested, counts.held) == (tested, held)


def test_a_sample_of_direct_stuck_pots_stays_one():
    lost = on(37, "loss", stage="pot", units=4)
    assert of(check(30, 6, 6), lost, direct=True).tested == 5
    assert of(check(30, 10, 10), lost, direct=True).tested == 10
    sold = [on(60, "finish", pots=4), on(61, "leave", stage="finished", pots=4)]
    assert of(check(30, 6, 6), *sold, direct=True).tested == 6
