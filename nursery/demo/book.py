"""A demo book: told from a real one by its mark, emptied, filled again."""

from datetime import date

from django.contrib.auth.hashers import make_password
from django.core.management import call_command
from django.db import connection, transaction
from django.utils import timezone

from lots import outlook
from lots.models import Photo
from lots.models.triggers import release_records
from lots.supply import plan
from nursery import book
from nursery.demo import pictures
from nursery.demo.load import load
from nursery.models import DemoBook, Person


class RealBook(Exception):
    """The database holds a book that isn't a demo."""


def open_demo(*, lots: int, seed: int, password: str) -> None:
    """Have the demo nursery of today in the book, and everybody in it sign in with `password`.

    A demo of today with the same lots and seed stays as it is, an empty book is filled, another
    demo replaced. Raises RealBook, having touched nothing, when the book is a real one.
    """
    marked = DemoBook._meta.db_table in connection.introspection.table_names()
    if book.holds_something() and not (marked and DemoBook.objects.exists()):
        raise RealBook
    book.refuse_newer()
    call_command("migrate", interactive=False, verbosity=0)
    today = timezone.localdate()
    if DemoBook.objects.filter(day=today, lots=lots, seed=seed).exists():
        Person.objects.update(password=make_password(password))
    else:
        _empty()
        fill(day=today, lots=lots, seed=seed, password=password)
        pictures.hang()
        outlook.refit()
        plan.renew()


@transaction.atomic
def fill(*, day: date, lots: int, seed: int, password: str) -> None:
    """Write the demo nursery of a day and its mark into an empty book."""
    DemoBook.objects.create(day=day, lots=lots, seed=seed)
    load(day=day, lots=lots, seed=seed, password=password)


def _empty() -> None:
    """Empty every table; `flush` lays the guards of the records again, as every migrate does."""
    for photo in Photo.objects.iterator():
        photo.image.delete(save=False)
    release_records(connection.alias)
    call_command("flush", interactive=False, verbosity=0)
