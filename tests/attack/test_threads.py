"""Forty phones at once, over HTTP against the real server, in the kind of database that the tests
run on: no update is lost, nothing locks up, nobody gets a server fault, and every answer is one of
the three."""

import random
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from threading import Barrier
from uuid import uuid4

import pytest

from tests.attack.site import Phone, loss

pytestmark = [
    pytest.mark.xdist_group("shared_book"),
    pytest.mark.django_db,  # only so that there is a database to copy
]

PHONES = 40


@pytest.fixture(scope="module")
def served(shared_book):
    """A book and its server, which the tests share."""
    with shared_book.served() as server:
        yield shared_book, server


def told(book, made, records):
    """What the book says of the lots that were made; it must add up, with so many records more."""
    now = book.tell()
    assert now["faults"] == []
    assert len(set(now["stored"])) == len(now["stored"]) == made["stored"] + records
    return [now["lots"][lot] for lot in made["lots"]]


def at_once(server, work):
    """What `work(phone, number)` returns for each of forty phones that start together."""
    cookies = server.sign_in()
    start = Barrier(PHONES)

    def one(number):
        with Phone(server, cookies) as phone:
            start.wait()
            return work(phone, number)

    with ThreadPoolExecutor(PHONES) as pool:
        return list(pool.map(one, range(PHONES)))


def test_on_one_lot(served):
    """Each phone logs a check by the form, and sends a loss of 2 units twice; 60 are there."""
    book, server = served
    made = book.seed(1, 60)
    [lot] = made["lots"]
    before = f"{datetime.now(UTC) - timedelta(hours=2):%Y-%m-%dT%H:%M}"

    def work(phone, number):
        record = loss(lot, 2)
        check = {"uuid": uuid4(), "observed_at": before, "looked_at": 60, "rooted": 9}
        form, _page = phone.form(f"/lots/{lot}/check/", **check)
        status, answer = phone.sync(record, record)
        first, second = (one["status"] for one in answer["records"])
        assert (second == "already") if first == "saved" else (first == second == "refused")
        return form, status, first

    answers = at_once(server, work)
    assert {(form, status) for form, status, _first in answers} == {(302, 200)}
    assert [first for *_, first in answers].count("saved") == 30
    [row] = told(book, made, records=30 + PHONES)
    assert (row["cells"], row["cells_lost"]) == (0, 60)


def test_on_many_lots(served):
    """Each phone loses one unit of every lot, in an order of its own, and carries the whole flat
    elsewhere in between; 30 units of each lot are there, and forty ask for one."""
    book, server = served
    made = book.seed(3, 30)
    lots = made["lots"]

    def work(phone, number):
        order = random.Random(number).sample(lots, len(lots))
        flat = {"uuid": uuid4(), "place": made["place"], "whole_flat": "on"}
        moved, _page = phone.form(f"/lots/{order[0]}/move/", **flat)
        status, answer = phone.sync(*(loss(lot) for lot in order))
        said = {lot: one["status"] for lot, one in zip(order, answer["records"], strict=True)}
        return moved, status, said

    answers = at_once(server, work)
    assert {(moved, status) for moved, status, _said in answers} == {(302, 200)}
    for lot in lots:
        said = [one[lot] for *_, one in answers]
        assert (said.count("saved"), said.count("refused")) == (30, 10)
    rows = told(book, made, records=30 * 3 + PHONES * 3)
    assert {row["cells"] for row in rows} == {0}
