"""The demo nursery's side-by-side trials: one that is through, and one under way."""

from collections.abc import Callable
from datetime import date, timedelta
from math import exp, log
from typing import NamedTuple

from numpy.random import Generator

from lots.models import Arm, Flat, Lot, StickingSession, Trial
from lots.models.trial import LETTERS
from lots.sticking import side_by_side
from nursery.demo.basics import Basics
from nursery.demo.catalogue import HORMONE, MEDIA

UNITS, ACROSS = 12, 6
FLATS_DIFFER = 0.4  # standard deviation, on the logit of the take


class Way(NamedTuple):
    """An arm: how it is cut, and the share of its units that takes in a middling flat."""

    method: str
    hormone: str
    take: float


class Question(NamedTuple):
    says: str
    cultivar: str
    days_ago: int
    flats: int
    ways: list[Way]


QUESTIONS = [
    Question(
        "Do vein pieces of ‘Tin Cathedral’ take as well as whole leaves?",
        "Tin Cathedral",
        200,
        6,
        [Way("whole leaf", "", 0.88), Way("vein piece", "", 0.42)],
    ),
    Question(
        "Does rooting powder help tips of ‘Sixteen Herons’?",
        "Sixteen Herons",
        42,
        6,
        [Way("tip cutting", "", 0.8), Way("tip cutting", HORMONE, 0.88)],
    ),
]
LOTS = sum(len(LETTERS) * question.flats for question in QUESTIONS)


def by_day(today: date) -> dict[date, Question]:
    """The questions by the day of sticking, which is no weekend."""
    found = {}
    for question in QUESTIONS:
        day = today - timedelta(days=question.days_ago)
        found[day - timedelta(days=max(day.weekday() - 4, 0))] = question
    return found


def enter(
    question: Question,
    session: StickingSession,
    basics: Basics,
    rng: Generator,
    new_code: Callable[[], str],
) -> list[tuple[Lot, float]]:
    """Write the trial with its arms and flats. Returns its lots, not saved, in the order of
    sticking, each with the chance of a piece to take: a good flat is good for both its arms."""
    [variety] = [each for each, _kind in basics.varieties if each.cultivar == question.cultivar]
    seed = int(rng.integers(2**31))
    drawn = side_by_side.draw(seed, question.flats, UNITS)
    trial = Trial.objects.create(
        code=side_by_side.new_code(),
        session=session,
        question=question.says,
        variety=variety,
        seed=seed,
        across=ACROSS,
        cells=[cells for _order, cells in drawn],
    )
    medium, place = MEDIA[0], basics.places[0][rng.integers(len(basics.places[0]))]
    arms = {}
    for letter, way in zip(LETTERS, question.ways, strict=True):
        method = basics.methods[way.method]
        arm = Arm(trial=trial, letter=letter, method=method, medium=medium, hormone=way.hormone)
        arm.save()
        arms[letter] = arm, way
    found = []
    for number, (order, _cells) in enumerate(drawn, 1):
        flat = Flat.objects.create(code=trial.flat_code(number))
        better = rng.normal(0, FLATS_DIFFER)
        for letter in order:
            arm, way = arms[letter]
            lot = Lot(
                code=new_code(),
                session=session,
                variety=variety,
                method=arm.method,
                medium=medium,
                hormone=way.hormone,
                planned_units=UNITS,
                flat=flat,
                first_place=place,
                arm=arm,
            )
            found.append((lot, 1 / (1 + exp(-log(way.take / (1 - way.take)) - better))))
    return found
