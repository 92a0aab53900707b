"""When the book can't be written: the disk is full, the data folder is read-only, the database is
away, or others write for too long. Who was saving is told that it is not saved."""

import errno
import os
import sqlite3
from collections.abc import Callable

from django.db import InternalError, OperationalError
from django.db.backends.base.base import BaseDatabaseWrapper
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

FULL = gettext_lazy("the disk of the server is full")
READ_ONLY = gettext_lazy("the data folder of the server can't be written to")
BUSY = gettext_lazy("others were writing for too long")
AWAY = gettext_lazy("the server can't reach its database")

# What the system, SQLite and PostgreSQL call it (https://sqlite.org/rescode.html,
# https://www.postgresql.org/docs/current/errcodes-appendix.html).
CAUSES = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EROFS: READ_ONLY,
    "SQLITE_FULL": FULL,
    "SQLITE_READONLY": READ_ONLY,
    "SQLITE_CANTOPEN": READ_ONLY,
    "SQLITE_BUSY": BUSY,
    "SQLITE_LOCKED": BUSY,
    "53100": FULL,
    "25006": READ_ONLY,
}


def note_answers(get_response: Callable) -> Callable:
    """Middleware next to the views: notes that the view was through before anything failed."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        request.is_through = response.status_code < 500
        return response

    return middleware


def cause(fault: BaseException | None) -> str | None:
    """Why the book can't be written, or None if the fault is another one."""
    if isinstance(fault, OperationalError | InternalError):
        below = fault.__cause__
        if isinstance(below, sqlite3.Error):
            name = "_".join(getattr(below, "sqlite_errorname", "").split("_")[:2])
            return CAUSES.get(name, AWAY)
        return CAUSES.get(getattr(below, "sqlstate", None), AWAY)
    if isinstance(fault, OSError):
        return CAUSES.get(fault.errno)
    return None


def use_once_if_read_only(connection: BaseDatabaseWrapper, **_kwargs: object) -> None:
    """SQLite opens a file that it can't write for reading, and the connection stays so. Let it end
    with its request, so that the next one may write as soon as the folder can be written again.
    """
    if connection.vendor == "sqlite" and not os.access(connection.settings_dict["NAME"], os.W_OK):
        connection.close_at = 0


def answer(request: HttpRequest, why: str, stylesheet: str) -> HttpResponse:
    """503, as a page or as JSON for the phone's own store."""
    if request.content_type == "application/json":
        sentence = _("NOT all of this was saved: %(why)s. Keep the records and send them again.")
        return JsonResponse({"why": sentence % {"why": why}}, status=503)
    saving = request.method not in ("GET", "HEAD")
    context = {"why": why, "saving": saving, "stylesheet": stylesheet}
    return HttpResponse(render_to_string("503.html", context), status=503)
