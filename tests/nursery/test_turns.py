"""Threads that write to a book in SQLite take turns, in the order they came."""

import threading
import time

import pytest
from django.db import OperationalError, connection

from nursery.sqlite import base


def wait_for(is_so) -> None:
    until = time.monotonic() + 10
    while not is_so():
        assert time.monotonic() < until
        time.sleep(0.005)


def test_the_turn_goes_to_who_came_first():
    queue, order = base.Queue(), []
    assert queue.take(0)

    def come(n: int) -> None:
        assert queue.take(10)
        order.append(n)
        queue.give()

    threads = []
    for n in range(8):
        threads.append(threading.Thread(target=come, args=[n]))
        threads[-1].start()
        wait_for(lambda: len(queue.waiting) > n)  # noqa: B023 - waited for at once
    queue.give()
    for thread in threads:
        thread.join()
    assert order == list(range(8))
    assert queue.take(0)


def test_who_does_not_wait_for_ever_stands_in_nobodys_way():
    queue = base.Queue()
    assert queue.take(0)
    assert not queue.take(0.01)
    assert not queue.waiting
    queue.give()
    assert queue.take(0)


@pytest.fixture
def book(tmp_path, django_db_blocker):
    """A database of its own, and connections to it."""
    given = connection.settings_dict | {"NAME": str(tmp_path / "turns.sqlite3"), "OPTIONS": {}}
    opened = []

    def connect() -> base.DatabaseWrapper:
        opened.append(base.DatabaseWrapper(given, f"turns{len(opened)}"))
        opened[-1].inc_thread_sharing()
        return opened[-1]

    with django_db_blocker.unblock():
        yield connect
        for one in opened:
            one.close()


def begin(one: base.DatabaseWrapper) -> None:
    one.ensure_connection()
    one.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)


@pytest.mark.parametrize("end", ["commit", "rollback", "close"])
def test_each_end_of_a_transaction_gives_the_turn_to_the_next(book, monkeypatch, end):
    monkeypatch.setattr(base, "WAIT", 0.05)
    one, other = book(), book()
    begin(one)
    with pytest.raises(OperationalError, match="locked"):
        begin(other)
    getattr(one, end)()
    begin(other)
    other.rollback()


def test_a_transaction_that_cannot_begin_keeps_no_turn(book, monkeypatch):
    one, other = book(), book()
    one.ensure_connection()
    monkeypatch.setattr(one, "transaction_mode", "NONSENSE")
    with pytest.raises(OperationalError):
        begin(one)
    begin(other)
    other.rollback()
