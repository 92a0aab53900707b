"""Addresses asked in a way they don't take. Django answers that with an empty page; here it is a
page of ours, or the page that has the button."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, JsonResponse
from django.shortcuts import redirect, render
from django.urls import Resolver404, resolve
from django.utils.translation import gettext as _

METHODS = ["GET", "HEAD", "POST"]


def answer_wrong_methods(get_response: Callable) -> Callable:
    """Middleware: pages know GET, HEAD and POST, and one that refuses its method says so in words.

    What only takes a button's POST may be asked for by GET: by who signs in again and is led to
    where the button led, or opens it from the browser's history. They are led to its page.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        if request.method not in METHODS:
            return _said(request, HttpResponseNotAllowed(METHODS))
        response = get_response(request)
        if response.status_code != 405:
            return response
        if request.method == "POST":
            return _said(request, response)
        if request.user.is_authenticated:
            messages.warning(
                request,
                _(
                    "Not done yet: it is done by a button on its page. If you were signed out "
                    "in between, tap it once more."
                ),
            )
        return redirect(_page_above(request.path_info))

    return middleware


def _said(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The refusal with a sentence in it."""
    if request.method == "POST":
        why = _("Nothing was saved: this page only shows things. Go back and use its buttons.")
    else:
        why = _("This address is opened or sent a form; “%(method)s” is nothing it knows.") % {
            "method": request.method
        }
    if request.content_type == "application/json":
        answer = JsonResponse({"why": why}, status=405)
    else:
        answer = render(request, "400.html", {"sentence": why}, status=405)
    answer["Allow"] = response["Allow"]
    return answer


def _page_above(path: str) -> str:
    """The nearest address above one that there is a page at."""
    while path != "/":
        path = path.rstrip("/").rpartition("/")[0] + "/"
        try:
            resolve(path)
        except Resolver404:
            continue
        return path
    return path
