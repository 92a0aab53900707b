"""The time zone of the book, by which every day in it is told.

It is kept in the book and read whenever the book is opened: by a command, by a thread, and by the
server's threads once a minute, since they keep no connection longer. The newest reading holds for
all threads of the process, so that no request asks for it.
"""

import logging
import sys
from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext as _

from nursery.models import BookSettings

log = logging.getLogger(__name__)


@dataclass(slots=True)
class Reading:
    """The book's time zone as it was read last, and the difference that was told of it."""

    zone: ZoneInfo | None = None
    told: str = ""


newest = Reading()


def name() -> str:
    """The name of the book's time zone; of a book that has none yet, the one it would get."""
    return newest.zone.key if newest.zone else settings.TIME_ZONE


def difference() -> str:
    """A sentence, if NURSERY_TIME_ZONE says another zone than the book goes by; else nothing."""
    asked = settings.NURSERY_TIME_ZONE
    if not asked or asked == name():
        return ""
    return _(
        "NURSERY_TIME_ZONE says %(asked)s, and this book goes by %(book)s until that is changed on "
        "purpose: with “manage.py timezone --set %(asked)s”, which says what it changes. If it is "
        "a slip, set NURSERY_TIME_ZONE to %(book)s."
    ) % {"asked": asked, "book": name()}


def follow(opened: BaseDatabaseWrapper = connection) -> None:
    """Read the book's time zone, and go by it."""
    try:
        with opened.cursor() as cursor:
            cursor.execute(f"SELECT time_zone FROM {BookSettings._meta.db_table}")  # noqa: S608
            row = cursor.fetchone()
    except DatabaseError:  # there is no book yet, or one of before; or whoever asks next is told
        return
    if row is None:
        return
    try:
        newest.zone = ZoneInfo(row[0])
    except (KeyError, ValueError, OSError):
        log.exception("This machine knows no time zone %s, which the book goes by.", row[0])
        return
    timezone.activate(newest.zone)
    if (says := difference()) and says != newest.told:
        newest.told = says
        sys.stderr.write(f"{says}\n")


def follow_when_opened(connection: BaseDatabaseWrapper, **_kwargs: object) -> None:
    """A receiver of `connection_created`."""
    if connection.alias == DEFAULT_DB_ALIAS:
        follow(connection)


def by_the_book(get_response: Callable) -> Callable:
    """Middleware: each request goes by the newest reading, whichever thread made it."""

    def middleware(request: HttpRequest) -> HttpResponse:
        if newest.zone:
            timezone.activate(newest.zone)
        return get_response(request)

    return middleware


def keep(using: str, **_kwargs: object) -> None:
    """A new book, or one of before time zones were kept, goes by NURSERY_TIME_ZONE from now on (a
    `post_migrate` receiver)."""
    if BookSettings._meta.db_table in connections[using].introspection.table_names():
        start = {"time_zone": settings.TIME_ZONE}
        BookSettings.objects.using(using).get_or_create(pk=BookSettings.THE_ONE, defaults=start)
        if using == DEFAULT_DB_ALIAS:
            follow()


def settle(zone: ZoneInfo) -> None:
    """Have the book go by another time zone. The days that its counts hold are to be worked out
    anew after that (`lots.ledger.recount`)."""
    BookSettings.objects.update_or_create(pk=BookSettings.THE_ONE, defaults={"time_zone": zone.key})
    newest.told = ""
    follow()
