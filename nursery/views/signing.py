"""Signing in and out, and one's own password."""

from django.contrib import messages
from django.contrib.auth import login, logout, views
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.hashers import make_password
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from nursery import devices, known_devices, pins, throttle
from nursery.forms import ByPinForm, OwnPasswordForm, OwnPinForm, SignInForm
from nursery.models import Person


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
        _say_where_and_since(self.request)
        self.request.session.clear_expired()
        known_devices.remember(self.request, response, form.get_user())
        return response

    def get_context_data(self, **kwargs) -> dict:
        return super().get_context_data(**kwargs) | {
            "by_pin": pins.people(self.request).exists(),
        }

    def form_invalid(self, form) -> HttpResponse:
        if throttle.has_to_wait(self.request, form.data.get("username", "")):
            return wait_first(self.request)
        return self.render_to_response(self.get_context_data(form=form), status=422)


def _say_where_and_since(request: HttpRequest) -> None:
    """The session engine keeps these beside the session, for the page of the person."""
    request.session["device"] = devices.describe(request.headers.get("User-Agent", ""))
    request.session["since"] = timezone.now().isoformat()


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
    """Over, and the browser keeps nothing of it (https://www.w3.org/TR/clear-site-data/): but for
    the cookie by which the device is known, which opens nothing by itself."""
    logout(request)
    answer = redirect("sign-in")
    answer["Clear-Site-Data"] = '"cache", "storage"'
    return answer


@never_cache
@login_not_required
@sensitive_post_parameters("pin")
def change_person(request: HttpRequest) -> HttpResponse:
    """Somebody else whom this device knows takes it in hand, by PIN."""
    known = pins.people(request)
    form = ByPinForm(known, request.POST or None)
    if form.is_valid():
        row = form.cleaned_data["who"]
        if pins.let_in(row, form.cleaned_data["pin"]):
            _take_over(request, row.person)
            return redirect("today")
        if known.filter(pk=row.pk).exists():
            form.add_error("pin", _("This isn’t the PIN of %(name)s.") % {"name": row.person})
        else:
            messages.warning(
                request,
                _("%(wrong)s wrong PINs: %(name)s signs in with the password here next time.")
                % {"wrong": pins.MOST_WRONG, "name": row.person},
            )
            return redirect("change-person")
    context = {"form": form, "known": known}
    return render(
        request, "nursery/change_person.html", context, status=422 if form.is_bound else 200
    )


def _take_over(request: HttpRequest, somebody: Person) -> None:
    """A session of their own; that of whoever was here before ends."""
    logout(request)
    login(request, somebody, backend=pins.BACKEND)
    _say_where_and_since(request)


@never_cache
@sensitive_post_parameters("password", "pin")
def own_pin(request: HttpRequest) -> HttpResponse:
    """One's own PIN: chosen, changed, or taken away."""
    form = OwnPinForm(request.user, request.POST or None)
    if form.is_valid():
        pin = form.cleaned_data["pin"]
        Person.objects.filter(pk=request.user.pk).update(pin=make_password(pin) if pin else "")
        messages.success(request, _("Your PIN is set.") if pin else _("You have no PIN now."))
        return redirect("change-person" if pin else "today")
    context = {
        "form": form,
        "title": _("My PIN"),
        "intro": _(
            "Where several share a phone, each changes to themselves by tapping their initials and "
            "a short PIN: on phones where they have signed in with the password once. It is for "
            "logging; a manager’s pages take the password."
        ),
        "button": _("Save my PIN"),
    }
    return render(request, "form.html", context, status=422 if form.is_bound else 200)


@method_decorator(never_cache, name="dispatch")
class ChangePasswordView(views.PasswordChangeView):
    """One's own password. This sign-in stays, all others end."""

    form_class = OwnPasswordForm
    template_name = "form.html"
    success_url = reverse_lazy("today")
    title = gettext_lazy("My password")
    extra_context = {"button": gettext_lazy("Change my password")}

    def get_context_data(self, **kwargs) -> dict:
        first = self.request.user.must_change_password
        intro = (
            _("The one you signed in with was made up by the book. Choose your own, then go on.")
            if first
            else _("Your other phones and desks have to sign in again after this.")
        )
        return super().get_context_data(**kwargs) | {"intro": intro}

    def form_valid(self, form) -> HttpResponse:
        form.user.must_change_password = False
        response = super().form_valid(form)  # gives this session a new key, so it comes first
        person = self.request.user
        person.sign_ins.exclude(pk=self.request.session.session_key).delete()
        known_devices.forget(person, but=known_devices.of(self.request))
        messages.success(self.request, _("Your password is changed."))
        return response

    def form_invalid(self, form) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form), status=422)
