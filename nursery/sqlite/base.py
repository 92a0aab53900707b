"""SQLite for the threads of one process: transactions take turns, in the order they came.

Left to itself, SQLite lets who waits for its write lock sleep and try again: under load some come
first again and again, others are told after 20 seconds that the database is locked, and the lock
lies free while all sleep. Here each thread waits for its turn and is woken; other processes wait
and are waited for as before. Reads take no turn: with the WAL they need none.
"""

import threading
from collections import defaultdict, deque

from django.db import OperationalError
from django.db.backends.sqlite3 import base

from nursery.sqlite import WAIT


class Queue:
    """Whose turn it is."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.is_taken = False
        self.waiting: deque[threading.Event] = deque()

    def take(self, seconds: float) -> bool:
        """Whether the turn came in so many seconds."""
        with self.lock:
            if not self.is_taken:
                self.is_taken = True
                return True
            mine = threading.Event()
            self.waiting.append(mine)
        if mine.wait(seconds):
            return True
        with self.lock:
            if mine.is_set():  # it came just now
                return True
            self.waiting.remove(mine)
            return False

    def give(self) -> None:
        with self.lock:
            if self.waiting:
                self.waiting.popleft().set()
            else:
                self.is_taken = False


queues: defaultdict[str, Queue] = defaultdict(Queue)  # by the name of the database


class DatabaseWrapper(base.DatabaseWrapper):
    queue: Queue | None = None  # while it has its turn

    def _start_transaction_under_autocommit(self) -> None:
        queue = queues[str(self.settings_dict["NAME"])]
        if not queue.take(WAIT):
            raise OperationalError("database is locked")
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            queue.give()
            raise
        self.queue = queue

    def _commit(self) -> None:
        super()._commit()  # where that fails, Django rolls back
        self._give()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._give()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._give()

    def _give(self) -> None:
        if self.queue:
            self.queue.give()
            self.queue = None
