"""How a lot goes through the nursery: the staff look when the book says to, and write down what
they find and do. What they find is the lot's `outcome`."""

from bisect import bisect_right
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from heapq import heappop, heappush
from typing import NamedTuple

from lots import outlook, tally
from lots.models import Finish, Leave, Loss, Lot, Move, PotSize, PotUp, Record, StrikeCheck
from nursery.demo.catalogue import CUSTOMERS
from nursery.demo.context import Context
from nursery.demo.outcome import Outcome

NOTES = ["algae on the medium", "a bit wet", "strong roots", "slow at the north end", "thinned out"]
WHY_VOIDED = ["wrong lot scanned", "counted twice", "glove on the screen: number was wrong"]
VOIDED = 0.008  # share of checks and losses that were first typed wrong
POT_LOSS = 0.03  # share of pots lost between pot-up and finish


class Task(NamedTuple):
    """Something to be done to a lot on a day of its own, counted from sticking."""

    age: int
    what: str  # clear, sell, young
    pots: int = 0
    way: str = Leave.Way.SOLD
    to: str = ""


@dataclass(slots=True)
class History:
    """One lot's way; `tell` writes its records. `kept` is the age at which a pot was kept for
    stock, or None."""

    context: Context
    lot: Lot
    outcome: Outcome
    pot_size: PotSize
    keep_one: bool
    counts: tally.Counts = field(default_factory=tally.Counts)
    records: list[Record] = field(default_factory=list)
    tasks: list[Task] = field(default_factory=list)
    finishing: list[float] = field(default_factory=list)  # of the pots that will finish
    failing: list[float] = field(default_factory=list)  # of the pots that will be lost
    dead: int = 0  # of outcome.dying, those taken out
    ever_finished: int = 0
    age: int = 0
    kept: int | None = None
    by: int = 0
    minute: int = 0

    def tell(self) -> list[Record]:
        rng = self.context.rng
        if self.lot.direct:
            self.counts.pots_made = self.counts.pots_growing = self.lot.stuck_units
            spread = rng.normal(1, 0.1, len(self.outcome.good)).tolist()
            self.finishing = sorted(max(self.outcome.finished * by, 21) for by in spread)
        else:
            self.counts.cells = self.lot.stuck_units
        while self._next_visit():
            self._visit()
        return self.records

    def _next_visit(self) -> bool:
        """Go on to the next day somebody comes; False when that is not before today."""
        lot = self.lot
        lot.stage, lot.seen_on = tally.stage(self.counts), self.counts.seen_on
        outlook.look_by_handbook(lot)
        if lot.look_on is None:
            return False
        age = (lot.look_on - lot.stuck_on).days + self._delay()
        if self.tasks:
            age = min(age, self.tasks[0].age)
        self.age = max(age, self.age + 1)
        return lot.stuck_on + timedelta(days=self.age) < self.context.today

    def _delay(self) -> int:
        """Days by which a look is late: mostly none, now and then forgotten."""
        luck = self.context.rng.random()
        if luck < 0.8:
            return 0
        if luck < 0.92:
            return 1
        if luck < 0.993:
            return 2 + int((luck - 0.92) * 40)
        return 9 + int((luck - 0.993) * 1500)

    def _visit(self) -> None:
        rng = self.context.rng
        self.by = self.context.staff[rng.integers(len(self.context.staff))].pk
        self.minute = int(rng.integers(7 * 60 + 30, 16 * 60))
        written = len(self.records)
        due: list[Task] = []
        while self.tasks and self.tasks[0].age <= self.age:
            due.append(heappop(self.tasks))
        if self.lot.direct:
            self._look_at_pots()
        elif self.counts.cells:
            self._look_at_cells(clearing=any(task.what == "clear" for task in due))
        self._lose_pots()
        self._finish(on_the_way=bool(due))
        for task in due:
            if task.what in ("sell", "young"):
                self._leave(task)
        if len(self.records) == written:
            self._fill_the_visit()

    def _fill_the_visit(self) -> None:
        """Nothing was due: somebody takes out what is ready to go, or says how it stands."""
        if self.tasks and self.tasks[0].what == "sell":
            self._leave(heappop(self.tasks))
        else:
            here = self.counts.cells + self.counts.pots_growing
            self._check(max(here, 1) if here else self.counts.pots_finished, None)

    def _look_at_cells(self, *, clearing: bool) -> None:
        outcome, counts = self.outcome, self.counts
        dying = self._dying()
        alive = counts.cells - len(dying)
        rooted = min(bisect_right(outcome.rooting, self.age) - counts.units_potted, alive)
        if alive and not counts.units_potted:
            self._check(alive, rooted)
        self._lose(dying, Loss.Where.CELL)
        if not alive:
            return
        wait = 0.28 * (outcome.finished - outcome.struck)
        ready = min(bisect_right(outcome.good, self.age - wait) - counts.units_potted, alive)
        late = self.age > 0.75 * outcome.finished
        if clearing or late:
            ready = min(bisect_right(outcome.good, self.age) - counts.units_potted, alive)
            if ready:
                self._pot_up(ready)
            if counts.cells:
                blind = min(
                    bisect_right(outcome.rooting, self.age) - counts.units_potted, counts.cells
                )
                # What neither died nor made a plant by now is thrown out.
                reasons = ["blind"] * blind + ["other"] * (counts.cells - blind)
                self._lose(reasons, Loss.Where.CELL, minutes=20)
            self.dead = len(outcome.dying)
        elif ready >= 0.5 * alive and ready >= self.pot_size.pieces_per_pot:
            self._pot_up(ready)
            if counts.cells:
                heappush(
                    self.tasks, Task(self.age + int(self.context.rng.integers(9, 24)), "clear")
                )

    def _look_at_pots(self) -> None:
        """A direct-stuck lot, until it is struck and on its way."""
        dying = self._dying()
        alive = self.counts.pots_growing - len(dying)
        ready = bisect_right(self.finishing, self.age)
        if alive and not ready and not self.ever_finished:
            self._check(alive, min(bisect_right(self.outcome.rooting, self.age), alive))
        self._lose(dying, Loss.Where.POT)

    def _dying(self) -> list[str]:
        dying = self.outcome.dying
        start = self.dead
        while self.dead < len(dying) and dying[self.dead][0] <= self.age:
            self.dead += 1
        return [reason for _day, reason in dying[start : self.dead]]

    def _check(self, alive: int, rooted: int | None) -> None:
        rng, counts = self.context.rng, self.counts
        rooted = alive if rooted is None else max(rooted, 0)
        looked, whole = alive, True
        if alive >= 24 and rng.random() < 0.25:
            looked, whole = 12, False
            rooted = int(rng.hypergeometric(rooted, alive - rooted, looked))
        showing: int | None = None
        if rng.random() < 0.7:
            lag = 0.3 * (self.outcome.finished - self.outcome.struck)
            shooting = bisect_right(self.outcome.good, self.age - lag)
            showing = min(rooted, round(shooting * looked / max(alive, 1)))
        note = NOTES[rng.integers(len(NOTES))] if rng.random() < 0.05 else ""
        what = {"looked_at": looked, "whole_lot": whole}
        if rng.random() < VOIDED:
            self._write(StrikeCheck, 0, voided=True, rooted=looked - rooted, **what)
        self._write(StrikeCheck, 0, rooted=rooted, showing=showing, note=note, **what)
        if counts.struck_on is None and looked <= 2 * rooted:
            counts.struck_on = counts.seen_on

    def _lose(self, reasons: list[str], where: str, minutes: int = 0) -> None:
        counts = self.counts
        for reason, units in sorted(Counter(reasons).items()):
            if self.context.rng.random() < VOIDED:
                self._write(
                    Loss, minutes, voided=True, stage=where, units=units + 10, reason=reason
                )
            self._write(Loss, minutes, stage=where, units=units, reason=reason)
            if where == Loss.Where.CELL:
                counts.cells -= units
                counts.cells_lost += units
            else:
                counts.pots_growing -= units
                counts.pots_lost += units

    def _lose_pots(self) -> None:
        lost = bisect_right(self.failing, self.age)
        del self.failing[:lost]
        reason = ["rot", "dried out", "pest"][self.context.rng.integers(3)]
        self._lose([reason] * lost, Loss.Where.POT)

    def _pot_up(self, units: int) -> None:
        rng, counts = self.context.rng, self.counts
        pots = -(-units // self.pot_size.pieces_per_pot)
        made = {"units": units, "pots": pots, "pot_size_id": self.pot_size.pk}
        if counts.units_potted:
            self._write(PotUp, 12, **made)
        else:  # to the growing context, where later ones join them
            places, action = self.context.growing_places, self.context.uuid()
            place = places[rng.integers(len(places))].pk
            self._write(PotUp, 12, action=action, **made)
            self._write(Move, 12, action=action, place_id=place, what=Move.What.POTS)
        counts.cells -= units
        counts.units_potted += units
        counts.pots_made += pots
        counts.pots_growing += pots
        if counts.struck_on is None and counts.units_potted >= counts.cells:
            counts.struck_on = counts.seen_on
        lost = int(rng.binomial(pots, POT_LOSS))
        soonest = self.age + 14
        ends = [
            max(self.outcome.finished * by, soonest) for by in rng.normal(1, 0.11, pots).tolist()
        ]
        self.failing = sorted(self.failing + [(self.age + end) / 2 for end in ends[:lost]])
        self.finishing = sorted(self.finishing + ends[lost:])
        if pots > 8 and rng.random() < 0.06:
            young = Task(self.age + 10, "young", int(rng.integers(2, 6)), to="post order")
            heappush(self.tasks, young)

    def _finish(self, *, on_the_way: bool) -> None:
        """Pots fit to sell are counted when there is a flush of them, or on a look."""
        rng, counts = self.context.rng, self.counts
        pots = bisect_right(self.finishing, self.age)
        if not pots or (on_the_way and 3 * pots < len(self.finishing)):
            return
        del self.finishing[:pots]
        size = self.lot.direct_pot_size or self.pot_size
        self._write(Finish, 4, pots=pots, pot_size_id=size.pk)
        counts.pots_growing -= pots
        counts.pots_finished += pots
        self.ever_finished += pots
        if counts.finished_on is None and self.ever_finished >= counts.pots_growing + counts.cells:
            counts.finished_on = counts.seen_on
        if self.keep_one and self.kept is None:
            self.kept = self.age + int(rng.integers(2, 12))
            heappush(self.tasks, Task(self.kept, "sell", 1, Leave.Way.STOCK))
            pots -= 1
        while pots:
            going = pots if pots < 12 else int(rng.integers(pots // 2, pots + 1))
            luck = rng.random()
            way = Leave.Way.GIVEN if luck < 0.03 else Leave.Way.CULLED if luck < 0.06 else "sold"
            to = "" if way == Leave.Way.CULLED else CUSTOMERS[rng.integers(len(CUSTOMERS))]
            heappush(self.tasks, Task(self.age + int(rng.integers(2, 36)), "sell", going, way, to))
            pots -= going

    def _leave(self, task: Task) -> None:
        counts = self.counts
        if task.what == "young":
            pots = min(task.pots, len(self.finishing))
            if not pots:
                return
            del self.finishing[-pots:]
            counts.pots_growing -= pots
            stage = Leave.Where.GROWING
        else:
            pots = task.pots
            counts.pots_finished -= pots
            stage = Leave.Where.FINISHED
            if task.way == Leave.Way.STOCK:
                self.kept = self.age
        counts.pots_left += pots
        self._write(Leave, 25, pots=pots, stage=stage, way=task.way, to=task.to)

    def _write(self, model: type[Record], minutes: int, *, voided: bool = False, **what) -> None:
        """Append a record of this visit; one in ten reaches the book when the phone is back
        in reach."""
        rng, context = self.context.rng, self.context
        day = self.lot.stuck_on + timedelta(days=self.age)
        seen = context.moment(day, self.minute + minutes)
        delay = int(rng.integers(20, 240)) if rng.random() < 0.1 else 1
        told = seen + timedelta(minutes=delay)
        entry = model(
            uuid=context.uuid(), observed_at=seen, recorded_at=told, by_id=self.by, **what
        )
        if voided:
            entry.voided_at = told + timedelta(minutes=7)
            entry.voided_by_id = self.by
            entry.voided_why = WHY_VOIDED[rng.integers(len(WHY_VOIDED))]
        elif model is not Move:
            self.counts.seen_on = day
        self.records.append(entry)
