"""A book in a database of its own that is not rolled back, for tests of what a database does, and
for the servers that are attacked."""

import os
import sqlite3
from contextlib import closing, contextmanager
from pathlib import Path

import dj_database_url
from django.db import connection, connections
from django.db.utils import load_backend

TEMPLATE = "strikebook_template"
# Several processes test on one PostgreSQL server; each has databases of its own.
WORKER = os.environ.get("PYTEST_XDIST_WORKER", "")


def make_template(folder: Path) -> Path:
    """An empty book: a SQLite file, or on PostgreSQL a database (named, and the path unused)."""
    path = folder / TEMPLATE
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with closing(sqlite3.connect(path)) as copy:
            connection.connection.backup(copy)
    else:
        connection.close()  # no database is copied while somebody is connected to it
        _create(_name(path), connection.settings_dict["NAME"])
    return path


def copy_template(template: Path, path: Path) -> None:
    if connection.vendor == "sqlite":
        path.write_bytes(template.read_bytes())
    else:
        _create(_name(path), _name(template))


def _name(path: Path) -> str:
    return path.name + WORKER


def _create(name: str, template: str) -> None:
    with connection._nodb_cursor() as cursor:
        cursor.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)')
        cursor.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')


def using(path: Path):
    """The database as the book's, in this thread: a SQLite file or, by the file's name, a
    PostgreSQL database."""
    own = connections["default"].copy()
    own.settings_dict["NAME"] = str(path) if own.vendor == "sqlite" else _name(path)
    return _as_default(own)


def url(path: Path) -> str:
    """The DATABASE_URL of what `copy_template` made at a path."""
    if connection.vendor == "sqlite":
        return f"sqlite:///{path}"
    return f"{os.environ['DATABASE_URL'].rpartition('/')[0]}/{_name(path)}"


def using_url(url: str):
    """A database as the book's, in this thread, whatever the tests run on."""
    said = {"OPTIONS": {}} | dj_database_url.parse(url)
    given = connections["default"].settings_dict
    return _as_default(load_backend(said["ENGINE"]).DatabaseWrapper(given | said, "default"))


@contextmanager
def _as_default(own):
    before = connections["default"]
    connections["default"] = own
    try:
        yield
    finally:
        own.close()
        connections["default"] = before
