"""A data folder and a book of their own, for tests of what is not rolled back."""

from pathlib import Path

import pytest

from tests.nursery import own_book


@pytest.fixture(scope="session")
def template(django_db_setup, django_db_blocker, tmp_path_factory) -> Path:
    with django_db_blocker.unblock():
        return own_book.make_template(tmp_path_factory.mktemp("template"))


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
