"""The pages for what went wrong. None shows more than a sentence, and how to go on."""

import sys

from django.contrib.sessions.exceptions import SessionInterrupted
from django.core.exceptions import DisallowedHost
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.utils.translation import gettext as _
from django.views.decorators.csrf import requires_csrf_token

from nursery import notsaved


@requires_csrf_token
def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    if isinstance(exception, DisallowedHost):
        sentence = _(
            "This server doesn't go by the name in the address bar. Open it by the address on "
            "the tags; who runs the server can set another with NURSERY_ADDRESS."
        )
    elif isinstance(exception, SessionInterrupted):
        sentence = _("This device was signed out just now, so look what was saved.")
    else:
        sentence = _("The browser sent something that can't be read. Go back and try again.")
    return render(request, "400.html", {"sentence": sentence}, status=400)


@requires_csrf_token
def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    sentence = str(exception) or _("This isn't for you to open.")
    return render(request, "403.html", {"sentence": sentence}, status=403)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """A form that wasn't ours, or whose page is older than the last sign-in."""
    sentence = _(
        "Nothing was saved: this page was open since before the last sign-in, or the browser "
        "keeps no cookies. Go back, load the page again and send it once more."
    )
    return render(request, "403.html", {"sentence": sentence}, status=403)


@requires_csrf_token
def not_found(request: HttpRequest, exception: Http404) -> HttpResponse:
    return render(request, "404.html", {"sentence": _own_sentence(exception)}, status=404)


def server_error(request: HttpRequest) -> HttpResponse:
    """Drawn without the request: whatever failed may be what a page's frame asks for.

    Called while the fault is handled. Where the view was through before, what it wrote stands.
    """
    try:
        stylesheet = static("css/book.css")
    except ValueError:  # the list of static files is what is missing
        stylesheet = ""
    why = notsaved.cause(sys.exception())
    if why and not getattr(request, "is_through", False):
        return notsaved.answer(request, why, stylesheet)
    return HttpResponse(render_to_string("500.html", {"stylesheet": stylesheet}), status=500)


def _own_sentence(exception: Http404) -> str:
    """What a view of ours says is missing. Django's own words name classes and addresses."""
    said = exception.args[0] if exception.args else None
    if isinstance(said, str) and not said.endswith("matches the given query."):
        return said
    return _("There is no such page in the book.")
