"""Phones log and carry a flat of forty lots while the book is fitted again and again, on
PostgreSQL: none of them is a deadlock's victim, and no record is lost.

`REFIT_SECONDS=60` makes a longer attack of it.
"""

import os
import random
import time
from concurrent.futures import ThreadPoolExecutor
from uuid import uuid4

import psycopg
import pytest

from tests.attack.site import Phone, loss

LOTS, PHONES = 40, 6
SECONDS = int(os.environ.get("REFIT_SECONDS", "3"))


def deadlocks(url):
    with psycopg.connect(url) as asked:
        row = asked.execute(
            "SELECT sum(deadlocks) FROM pg_stat_database WHERE datname = current_database()"
        ).fetchone()
    return int(row[0])


@pytest.mark.xdist_group("shared_book")
@pytest.mark.django_db  # only so that there is a database to copy
def test_refits_and_phones_do_not_lock_each_other_out(shared_book):
    book = shared_book
    seeded = book.seed(LOTS, 300)
    lots = seeded["lots"]
    with book.served() as server:
        cookies = server.sign_in()

        def work(number):
            chance, answers = random.Random(number), []
            with Phone(server, cookies) as phone:
                while time.monotonic() < end:
                    flat = {"uuid": uuid4(), "place": seeded["place"], "whole_flat": "on"}
                    moved, _page = phone.form(f"/lots/{chance.choice(lots)}/move/", **flat)
                    status, said = phone.sync(*map(loss, chance.sample(lots, 8)))
                    answers.append((moved, status, {one["status"] for one in said["records"]}))
            return answers

        end = time.monotonic() + SECONDS
        with ThreadPoolExecutor(PHONES + 1) as pool:
            refits = pool.submit(book.run, "-m", "tests.attack.refits", str(SECONDS))
            answers = [one for some in pool.map(work, range(PHONES)) for one in some]
            made = int(refits.result())
    assert made
    assert {(moved, status) for moved, status, _said in answers} == {(302, 200)}
    assert all(said == {"saved"} for *_, said in answers)
    assert deadlocks(book.database_url) == 0
    assert book.tell()["faults"] == []
