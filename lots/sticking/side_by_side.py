"""Side-by-side trials: drawing one, putting its lots into a session, and what came of it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from django.db import transaction
from django.utils.translation import gettext as _

from lots import ledger
from lots.forecast.trial import Verdict, judge
from lots.models import Arm, Flat, Lot, Place, Stage, StickingSession, StockPlant, Trial, Variety
from lots.models.trial import LETTERS
from lots.outlook import facts, rows
from lots.sticking.cutting import number_cuts, shared_cuts


def draw(seed: int, flats: int, units: int) -> list[tuple[str, str]]:
    """For each flat, which arm is stuck first (a text of both letters) and the arm of each cell,
    so many units of each; all at random."""
    rng = np.random.default_rng(seed)
    both = list(LETTERS)
    return [
        ("".join(rng.permutation(both)), "".join(rng.permutation(both * units)))
        for _flat in range(flats)
    ]


@transaction.atomic
def plan(
    session: StickingSession,
    variety: Variety,
    arms: Sequence[Arm],
    *,
    units: int,
    flats: int,
    seed: int,
    question: str,
    across: int,
    pieces_per_unit: int = 1,
    plants: Sequence[StockPlant] = (),
    place: Place | None = None,
) -> Trial:
    """Put a trial of two unsaved arms into the session: in each of the flats a planned lot of so
    many units for each arm, in the drawn order, cut evenly from the stock plants. A trial with
    that seed is in the book already if it was sent twice, and is answered as it stands.

    Raises Refused, with nothing written, where such a lot may not be stuck.
    """
    drawn = draw(seed, flats, units)
    trial, new = Trial.objects.get_or_create(
        seed=seed,
        defaults={
            "code": new_code(),
            "session": session,
            "question": question,
            "variety": variety,
            "across": across,
            "cells": [cells for _first, cells in drawn],
        },
    )
    if not new:
        return trial
    by_letter = dict(zip(LETTERS, arms, strict=True))
    for letter, arm in by_letter.items():
        arm.trial, arm.letter = trial, letter
        arm.save()
    line = max(session.lots.values_list("line", flat=True), default=0)
    for number, (order, _cells) in enumerate(drawn, 1):
        flat = Flat.get_or_make(trial.flat_code(number))
        for letter in order:
            line += 1
            arm = by_letter[letter]
            lot = Lot(
                session=session,
                line=line,
                variety=variety,
                method=arm.method,
                medium=arm.medium,
                hormone=arm.hormone,
                planned_units=units,
                pieces_per_unit=pieces_per_unit,
                flat=flat,
                first_place=place,
                arm=arm,
            )
            ledger.plan(lot, shared_cuts(plants, units * pieces_per_unit))
    number_cuts(session)
    return trial


def new_code() -> str:
    """The next code that no trial has: T1, T2 …"""
    number = Trial.objects.count() + 1
    while Trial.objects.filter(code=f"T{number}").exists():
        number += 1
    return f"T{number}"


@transaction.atomic
def drop(trial: Trial) -> None:
    """Undo a plan of which nothing is stuck: its lots won't be, and their tags are void. The trial
    stays in the book, as one whose flats are all left out. Raises Refused."""
    lots = Lot.objects.filter(arm__trial=trial).order_by("pk")
    for lot in lots.select_for_update(of=("self",)):
        if lot.is_stuck:
            raise ledger.Refused(
                _("%(lot)s is stuck already, so the trial can't be dropped as a whole.")
                % {"lot": lot}
            )
        ledger.not_stuck(lot)
    number_cuts(trial.session)


@dataclass(frozen=True, slots=True)
class Bed:
    """A flat of a trial: its cells as drawn, row by row, and its lots in the order of sticking.

    `told` holds for A, then for B, how many units took and were stuck; None while the book doesn't
    know how many took.
    """

    flat: str
    cells: list[str]
    lots: list[Lot]
    told: list[tuple[int, int] | None]

    @property
    def counted(self) -> list[tuple[int, int]] | None:
        """What is told, once it is of both arms."""
        return None if None in self.told else self.told

    @property
    def left_out(self) -> bool:
        """Whether an arm has no lot here that is stuck or will be, so that it never counts."""
        there = {lot.arm.letter for lot in self.lots if lot.stage != Stage.NOT_STUCK}
        return there != set(LETTERS)


def beds(trial: Trial) -> list[Bed]:
    """The flats of a trial as drawn. A lot that was stuck elsewhere has left the trial."""
    return beds_of([trial])[trial.pk]


def beds_of(trials: Sequence[Trial]) -> dict[int, list[Bed]]:
    """The flats of several trials, by the trial's primary key."""
    lots = Lot.objects.filter(arm__trial__in=trials).order_by("line", "pk")
    known = {each.pk: each for each in facts.standing(lots)}
    standing: dict[tuple[int, str], list[Lot]] = {}
    for lot in lots.select_related("arm", "flat"):
        if lot.flat:
            standing.setdefault((lot.arm.trial_id, lot.flat.code), []).append(lot)
    found: dict[int, list[Bed]] = {trial.pk: [] for trial in trials}
    for trial in trials:
        for number, cells in enumerate(trial.cells, 1):
            code, across = trial.flat_code(number), trial.across
            here = standing.get((trial.pk, code), [])
            in_rows = [cells[start : start + across] for start in range(0, len(cells), across)]
            told = [_told([known[lot.pk] for lot in here if lot.arm.letter == a]) for a in LETTERS]
            found[trial.pk].append(Bed(code, in_rows, here, told))
    return found


def _told(lots: Sequence[facts.Facts]) -> tuple[int, int] | None:
    if not lots or not all(map(rows.all_told, lots)):
        return None
    return sum(map(rows.taken, lots)), sum(lot.units for lot in lots)


def result(found: Sequence[Bed]) -> Verdict | None:
    """The verdict on the flats that are counted, each a stratum; None while there is none."""
    counted = np.array([bed.counted for bed in found if bed.counted])
    return judge(counted[:, :, 0], counted[:, :, 1]) if counted.size else None
