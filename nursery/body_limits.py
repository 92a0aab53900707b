"""How much a page takes: refused by what a request says of its own length, before a byte of it is
read. Whoever is not signed in sends a name and a password, and nothing large."""

import shutil
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.urls import Resolver404, resolve
from django.utils.translation import gettext as _

from lots.views.files import FORM

SIGNED_OUT = 64 * 1024  # bytes
SPARE_DISK = 64 * 1024**2  # bytes that have to stay free beside what is sent


def refuse_too_large(get_response: Callable) -> Callable:
    """Middleware, after the one that knows who is signed in and before any that reads a form. A
    body without a length is none to Django."""

    def middleware(request: HttpRequest) -> HttpResponse:
        length = int(request.META.get("CONTENT_LENGTH") or 0)
        if length > SIGNED_OUT:
            if not request.user.is_authenticated:
                return _refused(request, _("Sign in first: %(mb)s MB are too much."), length, 413)
            if length > _most(request.path_info):
                why = _("%(mb)s MB are more than this page takes. Nothing was saved.")
                return _refused(request, why, length, 413)
            if length > FORM and shutil.disk_usage(settings.DATA_DIR).free < length + SPARE_DISK:
                why = _("The server’s disk is nearly full: %(mb)s MB have no room. Not saved.")
                return _refused(request, why, length, 507)
        return get_response(request)

    return middleware


def _most(path: str) -> int:
    try:
        return getattr(resolve(path).func, "largest_body", FORM)
    except Resolver404:
        return FORM


def _refused(request: HttpRequest, why: str, length: int, status: int) -> HttpResponse:
    says = why % {"mb": f"{length / 1024**2:.1f}"}
    if request.content_type == "application/json":
        return JsonResponse({"why": says}, status=status)
    context = {"title": _("Too large"), "sentence": says}
    return render(request, "400.html", context, status=status)
