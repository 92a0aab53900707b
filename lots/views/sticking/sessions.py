"""Sticking sessions: planned at the desk, printed, confirmed at the bench."""

from datetime import timedelta

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from lots import ledger, supply
from lots.forms.sticking.sessions import LineForm, RepeatForm, SessionForm
from lots.models import Lot, Stage, StickingSession, Trial
from lots.sticking import plans
from lots.sticking.cutting import in_cutting_order, number_cuts, what_plants_give
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST, page_of, posted, render_form
from lots.views.refused import add_refusal
from lots.views.sticking.confirming import may_correct


@require_safe
def sessions(request: HttpRequest) -> HttpResponse:
    listed = (
        StickingSession.objects.select_related("led_by")
        .annotate(
            planned=Count("lots", filter=Q(lots__stage=Stage.PLANNED)),
            stuck=Count("lots", filter=Q(lots__stuck_on__isnull=False)),
        )
        .order_by("-day", "-pk")
    )
    page = page_of(request, listed)
    today = timezone.localdate()
    year_ago = StickingSession.objects.filter(
        day__range=(today - timedelta(days=371), today - timedelta(days=350))
    ).order_by("day")[:4]
    context = {"page": page, "year_ago": year_ago, "today": today}
    return render(request, "sticking/sessions.html", context)


@GET_OR_POST
@manager_only
def new(request: HttpRequest) -> HttpResponse:
    form = SessionForm(posted(request), initial={"led_by": request.user})
    if form.is_valid():
        session = form.save(commit=False)
        session.code = plans.next_code()
        session.save()
        return redirect("session", session.pk)
    context = {"form": form, "heading": _("New sticking session")}
    return render_form(request, "sticking/session_form.html", context)


@GET_OR_POST
@manager_only
def change(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    form = SessionForm(posted(request), instance=session)
    if form.is_valid():
        form.save()
        return redirect("session", session.pk)
    context = {"form": form, "session": session, "heading": _("Change the session")}
    return render_form(request, "sticking/session_form.html", context)


@require_safe
def session(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession.objects.select_related("led_by"), pk=pk)
    lots = in_cutting_order(session)
    form = None
    if request.user.is_manager:
        form = LineForm(initial=_initial_line(session, lots, request.GET.get("copy", "")))
    return _session_page(request, session, lots, form)


@require_POST
@manager_only
def add_line(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    form = LineForm(request.POST)
    if form.is_valid():
        line = max(session.lots.values_list("line", flat=True), default=0) + 1
        lot, cuts = form.put(Lot(session=session, line=line))
        try:
            ledger.plan(lot, cuts)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            number_cuts(session)
            messages.success(
                request,
                ngettext(
                    "Added: %(variety)s, %(n)s unit, lot %(lot)s.",
                    "Added: %(variety)s, %(n)s units, lot %(lot)s.",
                    lot.planned_units,
                )
                % {"variety": lot.variety, "n": lot.planned_units, "lot": lot},
            )
            return redirect("session", session.pk)
    return _session_page(request, session, in_cutting_order(session), form, status=422)


@GET_OR_POST
@manager_only
def change_line(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    lot = get_object_or_404(
        Lot.objects.select_related("variety", "session", "arm"), session=session, code=code
    )
    if lot.arm_id:
        messages.error(
            request,
            _(
                "%(lot)s is part of a trial, whose plan is drawn; say at the bench what was "
                "really stuck."
            )
            % {"lot": lot},
        )
        return redirect("trial", lot.arm.trial_id)
    form = LineForm(posted(request), initial=LineForm.of(lot))
    if form.is_valid():
        changed, cuts = form.put(lot)
        try:
            ledger.replan(changed, cuts)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            number_cuts(session)
            messages.success(request, _("Changed: %(lot)s.") % {"lot": lot})
            return redirect("session", session.pk)
    context = {"session": session, "lot": lot, "form": form}
    return render_form(request, "sticking/line.html", context)


@require_safe
@manager_only
def plants(request: HttpRequest) -> HttpResponse:
    """The variety that the letters stand for, and its stock plants to tick."""
    form = LineForm(initial={"variety": request.GET.get("variety", "")})
    if form.chosen:
        sound = [plant.pk for plant in form.fields["plants"].queryset if plant.health == "sound"]
        form.initial["plants"] = sound
    return render(request, "sticking/plants.html", {"form": form})


@GET_OR_POST
@manager_only
def repeat(request: HttpRequest, pk: int) -> HttpResponse:
    old = get_object_or_404(StickingSession, pk=pk)
    form = RepeatForm(posted(request), initial={"day": _same_week_next(old)})
    if form.is_valid():
        session, left_out = plans.repeat(old, form.cleaned_data["day"], request.user)
        for sentence in left_out:
            messages.warning(request, sentence)
        return redirect("session", session.pk)
    context = {"form": form, "session": old}
    return render_form(request, "sticking/repeat.html", context)


@require_safe
def worksheet(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession.objects.select_related("led_by"), pk=pk)
    lots = in_cutting_order(session)
    to_cut = [lot for lot in lots if not lot.held]
    context = {
        "session": session,
        "lots": lots,
        "to_cut": to_cut,
        "trials": _trials(lots),
        "methods": sorted({lot.method for lot in to_cut}, key=str),
    }
    return render(request, "sticking/worksheet.html", context)


def _session_page(request, session, lots, form, status: int = 200) -> HttpResponse:
    gives = what_plants_give(session, lots)
    planned = {lot.variety_id for lot in lots if not lot.is_stuck}
    wanted = supply.next_wanted(planned, timezone.localdate())
    chances = supply.plan.chances() if wanted and request.user.is_manager else {}
    for lot in lots:
        lot.wanted = None if lot.is_stuck else wanted.get(lot.variety_id)
        lot.chance = lot.wanted and chances.get((lot.wanted.pk, lot.wanted.wanted_by))
        lot.gives = gives.get(lot.pk)
        lot.may_be_corrected = lot.is_stuck and may_correct(request.user, lot)
    context = {
        "session": session,
        "lots": lots,
        "form": form,
        "planned": sum(lot.stage == Stage.PLANNED for lot in lots),
        "units": sum(lot.units for lot in lots),
        "trials": _trials(lots),
        "not_stuck": session.lots.filter(stage=Stage.NOT_STUCK)
        .select_related("variety", "method")
        .order_by("line"),
        "today": timezone.localdate(),
    }
    return render(request, "sticking/session.html", context, status=status)


def _trials(lots: list[Lot]) -> list[Trial]:
    """The trials that the lots are arms of."""
    return list(dict.fromkeys(lot.arm.trial for lot in lots if lot.arm_id))


def _initial_line(session: StickingSession, lots: list[Lot], copied: str) -> dict[str, object]:
    """A copied line, or what stays the same from one line to the next."""
    if copied:
        lot = session.lots.filter(code=copied).select_related("variety").first()
        return LineForm.of(lot) | {"flat": ""} if lot else {}
    if not lots:
        return {}
    last = max(lots, key=lambda lot: lot.line)
    return {
        "method": last.method_id,
        "units": last.planned_units,
        "pieces_per_unit": last.pieces_per_unit,
        "place": last.first_place_id,
        "medium": last.medium,
        "hormone": last.hormone,
    }


def _same_week_next(old: StickingSession):
    """The same weekday 52 weeks on, as often as it takes to come to today or later."""
    day, today = old.day, timezone.localdate()
    while day < today:
        day += timedelta(weeks=52)
    return day
