"""Whether the site can do its work, for whatever watches over it."""

from django.contrib.auth.decorators import login_not_required
from django.db import Error, transaction
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from nursery.models import SignIn


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """200 and `ok`, or 503 when the database can't be written."""
    try:
        with transaction.atomic():
            # A write that changes nothing: it needs the write lock and a writable file.
            SignIn.objects.filter(pk="").update(device="")
    except Error:
        return HttpResponse("the database can't be written", "text/plain", 503)
    return HttpResponse("ok", "text/plain")
