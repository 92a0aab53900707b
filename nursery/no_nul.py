"""Requests with a NUL in them: no database holds it, PostgreSQL can't even be asked for it, and
nobody types it. They are refused before any view reads them."""

from collections.abc import Callable
from itertools import chain

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _


def refuse_nul(get_response: Callable) -> Callable:
    """Middleware: an address, a query or a form with a NUL is told so in words (400).

    What `/sync/` takes is JSON and looked through there: a phone would send it for ever.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        sent = chain.from_iterable(
            values for query in (request.GET, request.POST) for _name, values in query.lists()
        )
        if any("\0" in text for text in (request.path_info, *sent)):
            sentence = _("There is a character in it that no book can hold (NUL); take it out.")
            return render(request, "400.html", {"sentence": sentence}, status=400)
        return get_response(request)

    return middleware
