"""How a phone comes to trust the nursery's own certificates; open to whoever asks, since no phone
can sign in before."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from labels import qr
from nursery import certificates

QR_MM = 50  # the room for the square, on paper


@login_not_required
@require_safe
def trust(request: HttpRequest) -> HttpResponse:
    _or_not_found()
    context = {
        "address": settings.TRUST_ADDRESS,
        "book": f"{settings.LAN_ADDRESS}/",
        "fingerprint": certificates.fingerprint(),
        "symbol": qr.symbol(settings.TRUST_ADDRESS, QR_MM),
    }
    return render(request, "nursery/trust.html", context)


@login_not_required
@require_safe
def authority(request: HttpRequest) -> HttpResponse:
    """The certificate itself, as both kinds of phones take it."""
    _or_not_found()
    answer = HttpResponse(certificates.for_phones(), "application/x-x509-ca-cert")
    answer["Content-Disposition"] = 'attachment; filename="strikebook-authority.crt"'
    return answer


def _or_not_found() -> None:
    if not settings.TRUST_ADDRESS:
        raise Http404(_("This book has no certificates of its own: it isn’t served with --tls."))
