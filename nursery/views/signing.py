"""Signing in and out, and one's own password."""

from django.contrib import messages
from django.contrib.auth import logout, views
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from nursery import devices, throttle
from nursery.forms import OwnPasswordForm, SignInForm


class SignInView(views.LoginView):
    authentication_form = SignInForm
    template_name = "nursery/sign_in.html"
    redirect_authenticated_user = True

    def get_redirect_url(self, request: HttpRequest | None = None) -> str:
        """Where to go on, on this site; not back to signing in."""
        url = super().get_redirect_url(request)
        return "" if url == self.request.path else url

    def form_valid(self, form) -> HttpResponse:
        response = super().form_valid(form)
        # The session engine keeps these beside the session, for the page of the person.
        self.request.session["device"] = devices.describe(
            self.request.headers.get("User-Agent", "")
        )
        self.request.session["since"] = timezone.now().isoformat()
        self.request.session.clear_expired()
        return response

    def form_invalid(self, form) -> HttpResponse:
        if throttle.has_to_wait(self.request, form.data.get("username", "")):
            return wait_first(self.request)
        return self.render_to_response(self.get_context_data(form=form), status=422)


def wait_first(request: HttpRequest) -> HttpResponse:
    """The answer to a try too many."""
    wait = round(throttle.WAIT.total_seconds())
    context = {"minutes": round(wait / 60), "next": request.POST.get("next", "")}
    response = render(request, "nursery/locked_out.html", context, status=429)
    response["Retry-After"] = str(wait)
    return response


@login_not_required
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    return redirect("sign-in")


class ChangePasswordView(views.PasswordChangeView):
    """One's own password. This sign-in stays, all others end."""

    form_class = OwnPasswordForm
    template_name = "form.html"
    success_url = reverse_lazy("today")
    title = gettext_lazy("My password")
    extra_context = {
        "intro": gettext_lazy("Your other phones and desks have to sign in again after this."),
        "button": gettext_lazy("Change my password"),
    }

    def form_valid(self, form) -> HttpResponse:
        response = super().form_valid(form)  # gives this session a new key, so it comes first
        person = self.request.user
        person.sign_ins.exclude(pk=self.request.session.session_key).delete()
        messages.success(self.request, _("Your password is changed."))
        return response

    def form_invalid(self, form) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)
