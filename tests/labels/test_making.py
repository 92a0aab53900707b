"""Sheets are made once, in a thread, and kept; a failure is told."""

import os
from threading import Event

import pytest

from labels import making, sheet
from labels.order import Order, as_json, from_json
from labels.stock import shipped
from labels.tag import Passport
from tests.labels.samples import tag

STOCK = shipped()["Roll, labels 50 × 25 mm"]


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path / "sheets"


def order(**said) -> Order:
    return Order((tag(**said),), (1,), STOCK)


@pytest.fixture
def works(monkeypatch):
    """The orders that were worked on."""
    done = []

    def counted(order, *reached):
        done.append(order)
        return real(order, *reached)

    real = sheet.make_order
    monkeypatch.setattr(sheet, "make_order", counted)
    return done


def test_the_same_sheet_asked_for_twice_is_made_once(works):
    assert making.make(order(), patience=20) is None
    assert making.make(order(), patience=20) is None
    assert making.pdf(order()) == making.pdf(order())
    assert len(works) == 1


@pytest.mark.parametrize(
    "other",
    [
        order(count="50 × 1"),
        Order((tag(),), (2,), STOCK),
        Order((tag(),), (1,), STOCK, offset=(0.1, 0.0)),
        Order((tag(),), (1,), shipped()["Roll, labels 62 × 29 mm"]),
    ],
)
def test_another_sheet_is_not_taken_for_it(other):
    assert other.key != order().key
    assert order().key == order().key


def test_a_sheet_goes_on_being_made_while_nobody_looks(monkeypatch):
    go_on = Event()
    real = sheet.make_order

    def slow(order, reached):
        reached(0.4)
        go_on.wait(20)
        return real(order, reached)

    monkeypatch.setattr(sheet, "make_order", slow)
    first = making.make(order(), patience=0.05)
    assert first.percent == 40
    assert making.make(order(), patience=0.01) is first, "it is not begun again"
    assert making.kept(order().key) is None
    go_on.set()
    first.join(20)
    assert making.make(order()) is None


def test_a_failure_is_told_once_and_then_tried_again(monkeypatch, caplog):
    def broken(order, reached):
        raise OSError("no room on the disk")

    with monkeypatch.context() as patched:
        patched.setattr(sheet, "make_order", broken)
        assert making.make(order(), patience=20).failed
    assert "could not be made" in caplog.text
    assert making.make(order(), patience=20) is None


def test_only_the_newest_sheets_are_kept(monkeypatch, folder):
    monkeypatch.setattr(making, "KEPT", 2)
    for age, count in enumerate(("1 × 1", "2 × 1", "3 × 1")):
        making.pdf(order(count=count))
        path = making.kept(order(count=count).key)
        os.utime(path, (age, age))
    assert making.kept(order(count="1 × 1").key) is None
    assert len(list(folder.iterdir())) == 2


def test_progress_rises_to_the_end():
    shares = []
    many = Order((tag(),), (30,), STOCK)
    sheet.make_order(many, shares.append)
    assert shares == sorted(shares)
    assert shares[0] == 0
    assert 0.7 < shares[-1] < 1


def test_an_order_comes_back_from_what_is_stored():
    passport = Passport("Plantenpaspoort", "NL-123456789", "7K3QF2")
    asked = Order(
        (tag(passport=passport, notices=("One.", "Two.")), tag("Cyrillic", stuck_on=None)),
        (1, 3),
        STOCK,
        start=1,
        offset=(0.5, -1),
        scale=1.01,
    )
    assert from_json(as_json(asked)) == asked
    assert from_json(as_json(asked)).key == asked.key
