"""Every page asks to sign in first; who was saving something is told that it is not saved."""

from django.contrib import messages
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponseRedirect
from django.utils.translation import gettext as _


class SignInFirst(LoginRequiredMiddleware):
    def handle_no_permission(self, request: HttpRequest, view_func) -> HttpResponseRedirect:
        if request.method == "POST":
            messages.warning(
                request,
                _(
                    "NOT saved: you are signed out on this device. Sign in, and enter it once "
                    "more on the page that opens."
                ),
            )
        return super().handle_no_permission(request, view_func)
