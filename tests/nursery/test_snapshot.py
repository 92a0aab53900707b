"""A snapshot sees one state of the book and locks nobody out."""

import threading

import pytest

from lots import csvbook
from lots.models import Place
from lots.snapshot import snapshot
from tests.nursery import own_book

pytestmark = pytest.mark.django_db  # only so that there is a database to copy


def write_elsewhere(book, name: str) -> None:
    """Write a place as another phone does, and wait until that is done."""

    def write() -> None:
        with own_book.using(book):
            Place.objects.create(name=name)

    phone = threading.Thread(target=write)
    phone.start()
    phone.join(10)
    assert not phone.is_alive()


def test_what_is_written_meanwhile_is_not_seen_and_not_held_up(site):
    with snapshot():
        assert Place.objects.count() == 0
        write_elsewhere(site, "A1")
        assert Place.objects.count() == 0
    assert Place.objects.count() == 1


def test_an_export_is_of_one_moment(site, tmp_path):
    """A place that comes while the export is at work is in none of its files."""
    exported = []

    def on_the_way(name: str, rows: int) -> None:
        if not exported:
            write_elsewhere(site, "A1")
        exported.append((name, rows))

    csvbook.export(tmp_path / "out", on_the_way)
    assert ("places.csv", 0) in exported


def test_writing_works_as_ever_after_a_snapshot(site):
    with snapshot():
        pass
    Place.objects.create(name="A1")
    assert Place.objects.exists()
