"""An empty book in a folder, for what runs as a process of its own; and one in a database
of its own, for what is not rolled back."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.utils import timezone

from nursery import clock
from tests.lots import books
from tests.nursery import hand_book, own_book

BASE = Path(__file__).parents[2]


def manage(folder: Path, *arguments: str, **options) -> subprocess.CompletedProcess:
    """Run `manage.py` on the data folder as a user would."""
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=BASE,
        env=environment(folder),
        capture_output=True,
        text=True,
        timeout=60,
        **options,
    )


def start_server(
    folder: Path, *words: str, program=("manage.py",), stderr=subprocess.PIPE, **variables: str
) -> subprocess.Popen:
    """A process that serves the data folder, of which nothing has been read yet."""
    return subprocess.Popen(
        [sys.executable, *program, "serve", "--host=127.0.0.1", *words],
        cwd=BASE,
        env=environment(folder) | variables,
        stdout=subprocess.PIPE,
        stderr=stderr,
        text=True,
    )


def environment(folder: Path) -> dict[str, str]:
    """This process's, with nothing of the nursery in it but the data folder."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("NURSERY_", "DJANGO_", "DATABASE_"))
    }
    return kept | {"NURSERY_DATA_DIR": str(folder)}


@pytest.fixture(autouse=True)
def own_zone():
    """What a test settles of the book's time zone ends with it."""
    yield
    timezone.deactivate()
    clock.newest.zone, clock.newest.told = None, ""


@pytest.fixture
def folder(migrated, tmp_path) -> Path:
    """A data folder of the test's own, with an empty book."""
    return Path(shutil.copytree(migrated, tmp_path / "data"))


@pytest.fixture
def site(template, django_db_blocker, settings, tmp_path):
    """An empty data folder with an empty book; yields the path of its database."""
    settings.DATA_DIR = tmp_path / "data"
    settings.MEDIA_ROOT = settings.DATA_DIR / "photos"
    settings.DATA_DIR.mkdir()
    path = settings.DATA_DIR / "strikebook_test_book"
    with django_db_blocker.unblock():
        own_book.copy_template(template, path)
        with own_book.using(path):
            yield path


@pytest.fixture
def book(site, settings, tmp_path) -> Path:
    """The site with the hand-made book and its photo."""
    books.bring_in(books.write(tmp_path / "hand"))
    hand_book.add_photo(settings, "leaf")
    return site
