"""Books to attack: empty ones in folders, as many as are asked for, and one for several tests."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from django.db import connection

from tests.attack.site import Book
from tests.nursery import own_book

# SQLite lets one write at a time: there are no deadlocks to look for.
collect_ignore = ["test_refits.py"] if connection.vendor == "sqlite" else []


@pytest.fixture(scope="session")
def new_book(migrated, django_db_blocker) -> Callable[[Path], Book]:
    """`new_book(folder)` lays an empty book in a folder that is not there yet."""

    def laid(folder: Path) -> Book:
        shutil.copytree(migrated, folder)
        return Book(django_db_blocker, folder, f"sqlite:///{folder / 'book.sqlite3'}")

    return laid


@pytest.fixture(scope="session")
def shared_book(template, django_db_blocker, tmp_path_factory) -> Book:
    """In the kind of database that the tests run on. Who attacks it seeds lots of their own, and
    is of the group `shared_book`."""
    path = tmp_path_factory.mktemp("shared") / "attacked"
    with django_db_blocker.unblock():
        own_book.copy_template(template, path)
        return Book(django_db_blocker, path.parent, own_book.url(path))
