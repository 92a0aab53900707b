"""Reading the book as it stood at one moment, while phones go on writing."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connections, transaction


@contextmanager
def snapshot(using: str = "default") -> Iterator[None]:
    """All reads inside see one state of the database, and lock nobody out.

    SQLite in WAL mode gives a transaction that began without a lock (DEFERRED) one snapshot
    (https://sqlite.org/isolation.html); PostgreSQL gives one at REPEATABLE READ. Inside an open
    transaction that transaction's view is what is seen.
    """
    connection = connections[using]
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "sqlite":
        connection.ensure_connection()
        mode, connection.transaction_mode = connection.transaction_mode, "DEFERRED"
        try:
            with transaction.atomic(using=using):
                yield
        finally:
            connection.transaction_mode = mode
    else:
        with transaction.atomic(using=using), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
