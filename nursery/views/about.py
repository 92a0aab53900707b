"""What this book is, where it lies and on what it stands. A manager's page."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from lots.views.access import manager_only
from nursery import about as book


@never_cache
@require_safe
@manager_only
def about(request: HttpRequest) -> HttpResponse:
    context = {
        "about": book.read(),
        "parts": book.parts(),
        "address": settings.NURSERY_ADDRESS or settings.LAN_ADDRESS,
        "secure": request.is_secure(),
    }
    return render(request, "nursery/about.html", context)
