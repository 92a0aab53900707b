"""Every page asks to sign in first; who was saving something is told that it is not saved. A
password that the book made up is changed before anything else."""

from django.contrib import messages
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.http import HttpRequest, HttpResponseRedirect
from django.shortcuts import redirect
from django.utils.translation import gettext as _

# What somebody whose password was made up by the book may do before it is changed.
UNTIL_CHANGED = {"password", "sign-out"}


class SignInFirst(LoginRequiredMiddleware):
    def process_view(self, request: HttpRequest, view_func, view_args, view_kwargs):
        refused = super().process_view(request, view_func, view_args, view_kwargs)
        if refused is None and getattr(request.user, "must_change_password", False):
            here = request.resolver_match.url_name
            if here not in UNTIL_CHANGED and getattr(view_func, "login_required", True):
                return redirect("password")
        return refused

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
