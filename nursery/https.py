"""What holds once the book is served by https: cookies that no other host can set and no plain
connection carries, and plain http that only leads there."""

import re
from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

YEAR = 31_536_000  # seconds
# What is answered without, or a phone could never be told whom to trust, nor a monitor be answered.
PLAIN = re.compile(r"^/(trust/|healthz$)")


def secured(port: int | None) -> dict[str, object]:
    """The settings of a book served by https; `port` is where plain http leads to, or None where
    it can't be told which is which.

    Browsers that were told of HSTS turn http into https at whatever port is asked, so it is only
    sent where https has the port of its own: elsewhere the tags that say http://…:8000 would lead
    to a port that speaks no https.
    """
    return {
        "SESSION_COOKIE_SECURE": True,
        "CSRF_COOKIE_SECURE": True,
        "SESSION_COOKIE_NAME": "__Host-sessionid",
        "CSRF_COOKIE_NAME": "__Host-csrftoken",
        "SECURE_HSTS_SECONDS": YEAR if port in (None, 443) else 0,
        "HTTPS_PORT": port,
    }


def lead_to_https(get_response: Callable) -> Callable:
    """Middleware: what is asked by plain http is asked for again by https, at the same host. Not
    for good: a nursery that goes back to http has phones that remember."""
    if settings.HTTPS_PORT is None:
        raise MiddlewareNotUsed
    at = "" if settings.HTTPS_PORT == 443 else f":{settings.HTTPS_PORT}"

    def middleware(request: HttpRequest) -> HttpResponse:
        if request.is_secure() or PLAIN.match(request.path_info):
            return get_response(request)
        host = re.sub(r":\d+$", "", request.get_host())
        return HttpResponseRedirect(
            f"https://{host}{at}{request.get_full_path()}", preserve_request=True
        )

    return middleware
