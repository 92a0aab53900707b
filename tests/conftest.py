"""Who is signed in: `grower` and `boss` sign the test client in and are that person. And an empty
book, for what runs as a process of its own."""

import gc
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection

from tests import factories
from tests.nursery import own_book

# Tests drop all they made at once: to look for what is still needed more seldom takes a twentieth
# off the run.
gc.set_threshold(100_000, 50, 100)

ASKS = {"db", "transactional_db", "template"}

LONG = ("tests/attack/", "tests/browser/", "tests/lots/csvbook/", "tests/labels/test_words")


@pytest.hookimpl(trylast=True)  # after their order was drawn
def pytest_collection_modifyitems(config, items) -> None:
    """Long tests are begun first, so that no worker sits over one at the end while the others are
    done. On PostgreSQL only what asks the database is run: the rest was, and is the same there."""
    items.sort(key=lambda item: not item.nodeid.startswith(LONG))
    if connection.vendor == "sqlite":
        return
    asking = [
        item
        for item in items
        if item.get_closest_marker("django_db") or not ASKS.isdisjoint(item.fixturenames)
    ]
    config.hook.pytest_deselected(items=[item for item in items if item not in asking])
    items[:] = asking


@pytest.fixture(scope="session")
def django_db_modify_db_settings(request):
    """A database for each worker. pytest-django leaves out SQLite, by the name of Django's engine,
    since each process has a memory of its own anyway; ours has another name."""
    if connection.vendor != "sqlite":
        request.getfixturevalue("django_db_modify_db_settings_parallel_suffix")


@pytest.fixture(scope="session")
def migrated(django_db_setup, django_db_blocker, tmp_path_factory) -> Path:
    """A data folder with an empty book: a copy of this process's own, made in no time where
    `migrate` takes ten seconds."""
    folder = tmp_path_factory.mktemp("migrated")
    file = folder / "book.sqlite3"
    with django_db_blocker.unblock(), closing(sqlite3.connect(file)) as copy:
        connection.ensure_connection()
        connection.connection.backup(copy)
        copy.execute("PRAGMA journal_mode=WAL")
        if not connection.introspection.table_names():  # no test of this run needs a database here
            with own_book.using_url(f"sqlite:///{file}"):
                call_command("migrate", verbosity=0)
    return folder


@pytest.fixture(scope="session")
def template(django_db_setup, django_db_blocker, tmp_path_factory) -> Path:
    """An empty book to copy, in the kind of database that the tests run on."""
    with django_db_blocker.unblock():
        return own_book.make_template(tmp_path_factory.mktemp("template"))


@pytest.fixture
def grower(db, client):
    person = factories.person(username="grower", name="Grace Grower", initials="GG")
    client.force_login(person)
    return person


@pytest.fixture
def boss(db, client):
    person = factories.manager(username="manager", name="Max Manager", initials="MM")
    client.force_login(person)
    return person
