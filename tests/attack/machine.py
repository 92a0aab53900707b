"""A bench with two lots and several phones, as a machine that hypothesis drives: any verb of the
ledger, at any moment, late, repeated, changed, voided. Beside the book it keeps its own sums.

What it holds the ledger to: a step is taken if, and only if, every record of the lot in its order
finds what it takes; whatever is refused changes nothing; what the book says is what was taken and
not voided; nothing is lost from the sum.
"""

from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import timedelta
from itertools import count
from unittest.mock import patch
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from lots import ledger, outlook
from lots.ledger import Refused
from lots.ledger.audit import audit
from lots.models import RECORDS, Finish, Leave, Loss, Lot, Move, PotUp, StrikeCheck
from tests.factories import method, person, place, planned_lot, potsize, session, variety

STUCK_DAYS_AGO = 60
STUCK = 8  # units of each lot
ORDER = list(RECORDS)
COUNTED = ("cells", "cells_lost", "units_potted", "pots_growing", "pots_lost", "pots_finished",
           "pots_left")  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What a phone sends, before it is a record of the book."""

    uuid: UUID
    lot: int  # 0 is stuck in cells, 1 straight into pots
    kind: str
    hours: int  # before now
    n: int
    few: bool  # the smaller of the two things that a kind can say
    voided: bool = False


class Stand:
    """The people, the places and the two lots, as they stand before each sequence."""

    def __init__(self) -> None:
        self.sequences = count()
        self.phones = [person() for _ in range(3)]
        self.places = [place(), place()]
        self.pot = potsize()
        of = {"variety": variety(), "method": method(), "session": session()}
        self.on = timezone.localdate() - timedelta(days=STUCK_DAYS_AGO)
        self.lots = [planned_lot(direct_pot_size=size, **of) for size in (None, self.pot)]
        for lot in self.lots:
            ledger.stick(lot, units=STUCK, on=self.on, by=self.phones[0])


def walked(stuck: int, direct: bool, said: list[Said]) -> dict[str, int] | None:
    """The counts after all that was said, in its order; None if something isn't there to take."""
    have = dict.fromkeys(COUNTED, 0)
    have["pots_growing" if direct else "cells"] = stuck
    for one in sorted(said, key=lambda one: (-one.hours, ORDER.index(one.kind))):
        if one.kind == "check":
            # One pot may hold several units, and all of them can be looked at.
            units = stuck if direct else have["cells"] + have["units_potted"]
            if one.n > units - have["pots_lost"] - have["pots_left"]:
                return None
            continue
        source, target = {
            "loss": ("pots_growing", "pots_lost") if one.few else ("cells", "cells_lost"),
            "move": (None, None),
            "potup": ("cells", "units_potted"),
            "finish": ("pots_growing", "pots_finished"),
            "leave": ("pots_growing" if one.few else "pots_finished", "pots_left"),
        }[one.kind]
        if source:
            have[source] -= one.n
            have[target] += one.n
            if have[source] < 0:
                return None
        if one.kind == "potup":
            have["pots_growing"] += pots_of(one)
    return have


def pots_of(one: Said) -> int:
    return max(1, one.n // 2) if one.few else one.n


class Bench(RuleBasedStateMachine):
    stand: Stand  # set by the test, inside its database

    def __init__(self) -> None:
        super().__init__()
        self.undo = ExitStack()
        self.undo.enter_context(transaction.atomic())
        # What takes long, and is not what is attacked, is done in every tenth sequence only: the
        # audit, which reads the whole book, and the forecasts, which follow each record.
        self.thorough = next(self.stand.sequences) % 10 == 0
        if not self.thorough:
            self.undo.enter_context(patch.object(outlook, "renew"))
        self.now = timezone.now()
        self.stuck = [STUCK, STUCK]
        self.said: list[Said] = []  # everything, refused or not, for a phone to send again
        self.taken: dict[UUID, Said] = {}  # what stands in the book, voided or not

    def teardown(self) -> None:
        found = audit() if self.thorough else None
        transaction.set_rollback(True)
        self.undo.close()
        assert found is None or (found.faults, found.records) == ([], len(self.taken))

    def record(self, one: Said):
        moment = self.now - timedelta(hours=one.hours)
        base = {"uuid": one.uuid, "observed_at": moment, "by": self.stand.phones[one.n % 3]}
        match one.kind:
            case "check":
                return StrikeCheck(looked_at=one.n, rooted=one.n // 2 if one.few else one.n, **base)
            case "loss":
                stage = "pot" if one.few else "cell"
                return Loss(units=one.n, stage=stage, reason="rot", **base)
            case "move":
                what = "all" if one.lot else ("cells", "pots", "all")[one.n % 3]
                return Move(place=self.stand.places[one.few], what=what, **base)
            case "potup":
                return PotUp(units=one.n, pots=pots_of(one), pot_size=self.stand.pot, **base)
            case "finish":
                return Finish(pots=one.n, **base)
            case _:
                return Leave(pots=one.n, stage="growing" if one.few else "finished", **base)

    def standing(self, lot: int, without: UUID | None = None) -> list[Said]:
        return [
            one
            for one in self.taken.values()
            if one.lot == lot and not one.voided and one.uuid != without
        ]

    def fits(self, fresh: list[Said]) -> bool:
        lot = fresh[0].lot
        if lot == 1 and any(
            one.kind == "potup" or (one.kind == "loss" and not one.few) for one in fresh
        ):
            return False
        records = [*self.standing(lot), *fresh]
        return walked(self.stuck[lot], lot == 1, records) is not None

    def send(self, group: list[Said]) -> None:
        """Send records of one lot in one write; they are all taken, or none."""
        fresh = [one for one in group if one.uuid not in self.taken]
        fits = not fresh or self.fits(fresh)
        try:
            answers = ledger.record(
                self.stand.lots[group[0].lot], [self.record(one) for one in group]
            )
        except Refused:
            assert not fits, "refused without need"
        else:
            assert fits, "taken, though it doesn't add up"
            assert [new for _, new in answers] == [one in fresh for one in group]
            assert all(
                entry.uuid == one.uuid for (entry, _), one in zip(answers, group, strict=True)
            )
            self.taken |= {one.uuid: one for one in fresh}

    kinds = st.sampled_from(["loss", "potup", "finish", "leave", "loss", "check", "move"])
    hours = st.integers(0, STUCK_DAYS_AGO * 24 - 48)
    few = st.booleans()

    @rule(lot=st.integers(0, 1), kind=kinds, hours=hours, n=st.integers(1, 9), few=few)
    def log(self, lot, kind, hours, n, few):
        self.said.append(Said(uuid4(), lot, kind, hours, n, few))
        self.send(self.said[-1:])

    @rule(lot=st.integers(0, 1), hours=hours, n=st.integers(1, 8), lost=st.integers(1, 9), few=few)
    def check_with_a_loss(self, lot, hours, n, lost, few):
        pair = [
            Said(uuid4(), lot, "check", hours, n, few),
            Said(uuid4(), lot, "loss", hours, lost, few or lot == 1),
        ]
        self.said += pair
        self.send(pair)

    @precondition(lambda self: self.said)
    @rule(data=st.data())
    def send_again(self, data):
        """A phone that got no answer; what was refused may fit by now."""
        self.send([data.draw(st.sampled_from(self.said))])

    @precondition(lambda self: self.taken)
    @rule(data=st.data(), n=st.integers(1, 99))
    def send_again_with_other_numbers(self, data, n):
        """The first sending stands."""
        self.send([replace(data.draw(st.sampled_from(list(self.taken.values()))), n=n)])

    @precondition(lambda self: self.taken)
    @rule(data=st.data())
    def send_for_the_other_lot(self, data):
        one = data.draw(st.sampled_from(list(self.taken.values())))
        try:
            ledger.record(self.stand.lots[1 - one.lot], [self.record(one)])
        except Refused:
            return
        raise AssertionError("one number is stored for two lots")

    @precondition(lambda self: self.taken)
    @rule(data=st.data())
    def void(self, data):
        one = data.draw(st.sampled_from(list(self.taken.values())))
        left = walked(self.stuck[one.lot], one.lot == 1, self.standing(one.lot, one.uuid))
        entry = RECORDS[one.kind].objects.get(uuid=one.uuid)
        try:
            ledger.void(entry, by=self.stand.phones[1], why="counted twice")
        except Refused:
            assert left is None, "a void is refused without need"
        else:
            assert one.voided or left is not None, "voided, though others stand on it"
            self.taken[one.uuid] = replace(one, voided=True)

    @rule(lot=st.integers(0, 1), units=st.integers(1, 12))
    def stick_again(self, lot, units):
        fits = walked(units, lot == 1, self.standing(lot)) is not None
        try:
            ledger.stick(
                self.stand.lots[lot], units=units, on=self.stand.on, by=self.stand.phones[2]
            )
        except Refused:
            assert not fits, "a sticking can't be corrected"
        else:
            assert fits, "a sticking is corrected below its records"
            self.stuck[lot] = units

    @invariant()
    def the_book_says_what_was_taken(self):
        rows = Lot.objects.order_by("pk").values(*COUNTED)  # in the order of the stand's
        for n, stands in enumerate(rows):
            assert stands == walked(self.stuck[n], n == 1, self.standing(n))
            assert min(stands.values()) >= 0
