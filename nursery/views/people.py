"""People: who works here, in which role, and where each is signed in. A manager's pages."""

import hashlib
from collections.abc import Iterable

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.db import transaction
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from labels import qr
from labels.lot_tags import base_address
from lots.reports import own_work
from lots.views.access import manager_only
from nursery import known_devices, passwords, throttle
from nursery.forms import NewPersonForm, PersonForm
from nursery.models import Person, SignIn

SLIP_MM = 40  # room for the QR on a sign-in slip


@never_cache
@manager_only
def people(request: HttpRequest) -> HttpResponse:
    devices = Count("sign_ins", filter=Q(sign_ins__expire_date__gt=timezone.now()))
    everybody = Person.objects.annotate(devices=devices).order_by("-is_active", "name")
    found = list(everybody)
    for somebody in found:
        somebody.mistaken_for = _sharing_initials(somebody, found) if somebody.is_active else []
    return render(request, "nursery/people.html", {"people": found})


def _sharing_initials(somebody: Person, everybody: Iterable[Person]) -> list[Person]:
    """The others who work here and have the same initials, in whatever capitals."""
    initials = somebody.initials.casefold()
    return [
        other
        for other in everybody
        if other.is_active and other.pk != somebody.pk and other.initials.casefold() == initials
    ]


def _tell_shared_initials(request: HttpRequest, somebody: Person) -> None:
    """Allowed, since two may well have the same; but tags and histories show nothing else."""
    others = _sharing_initials(somebody, Person.objects.all()) if somebody.is_active else []
    if others:
        says = ngettext(
            "%(names)s has the initials %(initials)s, too: on tags and in histories nobody can "
            "tell them apart. Give one of them others.",
            "%(names)s have the initials %(initials)s, too: on tags and in histories nobody can "
            "tell them apart. Give them others.",
            len(others),
        )
        words = {"names": ", ".join(map(str, others)), "initials": somebody.initials}
        messages.warning(request, says % words)


@never_cache
@manager_only
def new_person(request: HttpRequest) -> HttpResponse:
    form = NewPersonForm(request.POST or None)
    if form.is_valid():
        newcomer, password = form.save(commit=False), passwords.made_up()
        _give_first_password(newcomer, password)
        newcomer.save()
        messages.success(request, _("%(name)s can sign in now.") % {"name": newcomer})
        _tell_shared_initials(request, newcomer)
        return _slip(request, newcomer, password)
    return render(
        request,
        "form.html",
        {
            "form": form,
            "title": _("New person"),
            "intro": _(
                "The book makes up a first password and shows it once, to be printed. They choose "
                "their own when they first sign in."
            ),
            "button": _("Let them in"),
            "crumbs": [(reverse("people"), _("People"))],
        },
        status=422 if form.is_bound else 200,
    )


def _give_first_password(somebody: Person, password: str) -> None:
    somebody.set_password(password)
    somebody.must_change_password = True


def _slip(request: HttpRequest, somebody: Person, password: str) -> HttpResponse:
    """The address and how to sign in, to be printed and handed over. The password is in no book:
    it is shown in the answer to the form that set it, and never again."""
    address = f"{base_address(request)}/"
    first = settings.TRUST_ADDRESS or address
    context = {
        "person": somebody,
        "password": password,
        "address": address,
        "trust": settings.TRUST_ADDRESS,
        "symbol": qr.symbol(first, SLIP_MM),
    }
    return render(request, "nursery/slip.html", context)


@never_cache
@manager_only
def person(request: HttpRequest, pk: int) -> HttpResponse:
    somebody = get_object_or_404(Person, pk=pk)
    if request.method != "POST":
        return _page(request, somebody, form=PersonForm(instance=somebody))
    with transaction.atomic():
        form = PersonForm(request.POST, instance=somebody)
        if form.is_valid():
            form.save()
            if not somebody.is_active:
                if somebody == request.user:
                    logout(request)
                somebody.sign_ins.all().delete()
                known_devices.forget(somebody)
            messages.success(request, _("%(name)s is saved.") % {"name": somebody})
            _tell_shared_initials(request, somebody)
            return redirect("person", pk)
    somebody.refresh_from_db()
    return _page(request, somebody, form=form, status=422)


@never_cache
@require_POST
@manager_only
def set_password(request: HttpRequest, pk: int) -> HttpResponse:
    """A new password ends the person's sign-ins, and the wait after too many wrong ones. No device
    knows them any more."""
    somebody, password = get_object_or_404(Person, pk=pk), passwords.made_up()
    _give_first_password(somebody, password)
    somebody.save(update_fields=["password", "must_change_password"])
    known_devices.forget(somebody, but=_device_in_hand(request, somebody))
    somebody.sign_ins.exclude(pk=request.session.session_key).delete()
    if somebody == request.user:
        update_session_auth_hash(request, somebody)
    throttle.forget(somebody.username)
    messages.success(
        request, _("%(name)s has a new password and signs in with it.") % {"name": somebody}
    )
    return _slip(request, somebody, password)


@require_POST
@manager_only
def end_sign_in(request: HttpRequest, pk: int, key: str) -> HttpResponse:
    """End one sign-in of a person, or with the key `all` each of them but the one in hand. It may
    be a lost phone, so no other device lets them in by PIN before they have signed in there."""
    somebody = get_object_or_404(Person, pk=pk)
    ending = [
        sign_in.pk
        for sign_in in _sign_ins(somebody)
        if sign_in.pk != request.session.session_key and key in ("all", _handle(sign_in))
    ]
    if not ending and key != "all":
        raise Http404(_("This sign-in has ended already."))
    somebody.sign_ins.filter(pk__in=ending).delete()
    known_devices.forget(somebody, but=_device_in_hand(request, somebody))
    messages.success(
        request,
        ngettext("%(count)s sign-in is ended.", "%(count)s sign-ins are ended.", len(ending))
        % {"count": len(ending)},
    )
    return redirect("person", pk)


def _device_in_hand(request: HttpRequest, somebody: Person) -> str:
    return known_devices.of(request) if somebody == request.user else ""


def _page(
    request: HttpRequest,
    somebody: Person,
    *,
    form: PersonForm | None = None,
    status: int = 200,
) -> HttpResponse:
    sign_ins = [
        {
            "row": sign_in,
            "handle": _handle(sign_in),
            "current": sign_in.pk == request.session.session_key,
        }
        for sign_in in _sign_ins(somebody)
    ]
    context = {
        "person": somebody,
        "form": form or PersonForm(instance=somebody),
        "sign_ins": sign_ins,
        "others": any(not sign_in["current"] for sign_in in sign_ins),
        "work": own_work.of_person(somebody),
    }
    return render(request, "nursery/person.html", context, status=status)


def _sign_ins(somebody: Person):
    return somebody.sign_ins.filter(expire_date__gt=timezone.now())


def _handle(sign_in: SignIn) -> str:
    """A name for a sign-in that can stand in a page: its key itself would open the session."""
    return hashlib.sha256(sign_in.pk.encode()).hexdigest()[:16]
