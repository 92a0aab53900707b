"""Whether the site can do its work, for whatever watches over it."""

import shutil

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import Error, transaction
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import get_random_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from nursery.models import SignIn
from nursery.upkeep import soundness

PLAIN = "text/plain; charset=utf-8"
ROOM = 1_000_000  # bytes; what a record and its journal take is less


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """200 and `ok`, or 503 when the database can't be written or is damaged."""
    if (found := soundness.last()) and not found.is_sound:
        return HttpResponse("the book's file is damaged", PLAIN, 503)
    try:
        if shutil.disk_usage(settings.DATA_DIR).free < ROOM:
            return HttpResponse("the disk is full", PLAIN, 503)
        with transaction.atomic():
            # Written and taken back in one step: only a write shows that the disk takes one.
            probe = SignIn(session_key=get_random_string(32), expire_date=timezone.now())
            probe.save(force_insert=True)
            probe.delete()
    except (Error, OSError):
        return HttpResponse("the database can't be written", PLAIN, 503)
    return HttpResponse("ok", PLAIN)
