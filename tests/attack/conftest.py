"""Books to attack: an empty one in a folder, as many as are asked for, and one on PostgreSQL."""

from collections.abc import Callable, Iterator
from functools import partial

import pytest

from tests import postgres
from tests.attack.site import Book


@pytest.fixture(scope="session")
def new_book(migrated, django_db_blocker) -> Callable[..., Book]:
    """`new_book(folder)` lays an empty book in a folder that is not there yet."""
    return partial(Book, migrated, django_db_blocker)


@pytest.fixture(scope="session")
def book_on_postgresql(new_book, tmp_path_factory) -> Iterator[Book]:
    """One for all: who attacks it seeds lots of their own, and is of the group `postgresql`."""
    with postgres.server() as url:
        book = new_book(tmp_path_factory.mktemp("postgresql") / "data", url)
        book.run("manage.py", "migrate", "--verbosity=0")
        yield book
