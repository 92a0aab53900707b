"""Side-by-side trials: planned in a session, the plan to print, and the result."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from lots import ledger
from lots.forecast.trial import least_shown
from lots.forms.sticking.trials import TrialForm
from lots.models import Stage, StickingSession, Trial
from lots.models.trial import LETTERS, arm_names
from lots.sticking import side_by_side
from lots.sticking.side_by_side import Bed
from lots.views.access import manager_only
from lots.views.pages import GET_OR_POST, page_of, posted, render_form
from lots.views.refused import add_refusal
from lots.views.sticking.verdict import in_short, sentences, small_print

# Units of each arm for which the help says what a trial can show.
SIZES = (24, 48, 96, 192)


def _help() -> dict[str, object]:
    shown = [(units, f"{least_shown(units, units, 0.5):.2f}") for units in SIZES]
    return {"shown_by_size": shown}


@require_safe
def trials(request: HttpRequest) -> HttpResponse:
    listed = Trial.objects.select_related("session", "variety").prefetch_related("arms__method")
    page = page_of(request, listed.order_by("-pk"))
    beds = side_by_side.beds_of(list(page))
    for trial in page:
        trial.standing = _standing(trial, beds[trial.pk])
    return render(request, "sticking/trials.html", {"page": page} | _help())


@GET_OR_POST
@manager_only
def new(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    form = TrialForm(posted(request))
    if form.is_valid():
        names = ("variety", "question", "units", "flats", "seed", "across", "pieces_per_unit")
        asked = {name: form.cleaned_data[name] for name in (*names, "plants", "place")}
        again = Trial.objects.filter(seed=asked["seed"]).exists()
        try:
            trial = side_by_side.plan(session, arms=form.arms(), **asked)
        except ledger.Refused as refusal:
            add_refusal(form, refusal)
        else:
            if again:
                messages.warning(
                    request,
                    _(
                        "This form was sent before, and this is the trial that it planned. For "
                        "another one, begin anew on the page of the session."
                    ),
                )
            return redirect("trial", trial.pk)
    context = {"form": form, "session": session} | _help()
    return render_form(request, "sticking/trial_form.html", context)


@require_safe
def trial(request: HttpRequest, pk: int) -> HttpResponse:
    trial = get_object_or_404(Trial.objects.select_related("session", "variety"), pk=pk)
    names, same = arm_names(list(trial.arms.select_related("method")))
    beds = side_by_side.beds(trial)
    verdict = side_by_side.result(beds)
    stages = _stages(beds)
    left_out = sum(bed.left_out for bed in beds)
    counted = sum(bed.counted is not None for bed in beds)
    context = {
        "trial": trial,
        "arms": list(zip(LETTERS, names, strict=True)),
        "same": same,
        "beds": beds,
        "says": sentences(names, beds, verdict) if verdict else [],
        "small_print": small_print(verdict) if verdict else "",
        "planned": Stage.PLANNED in stages,
        "begun": not stages <= {Stage.PLANNED, Stage.NOT_STUCK},
        "dropped": stages == {Stage.NOT_STUCK},
        "left_out": left_out,
        "waiting": len(beds) - left_out - counted,
    } | _help()
    return render(request, "sticking/trial.html", context)


@require_POST
@manager_only
def drop(request: HttpRequest, pk: int) -> HttpResponse:
    trial = get_object_or_404(Trial.objects.select_related("session"), pk=pk)
    try:
        side_by_side.drop(trial)
    except ledger.Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, _("The trial was dropped: the tags of its lots are void."))
    return redirect("trial", trial.pk)


def _stages(beds: Sequence[Bed]) -> set[str]:
    return {lot.stage for bed in beds for lot in bed.lots}


def _standing(trial: Trial, beds: Sequence[Bed]) -> str:
    """How far a trial is, in a few words."""
    stages = _stages(beds)
    if stages == {Stage.NOT_STUCK}:
        return _("dropped")
    if stages <= {Stage.PLANNED, Stage.NOT_STUCK}:
        return _("planned")
    in_it = [bed for bed in beds if not bed.left_out]
    counted = sum(bed.counted is not None for bed in in_it)
    said = ngettext(
        "%(counted)s of %(n)s flat counted", "%(counted)s of %(n)s flats counted", len(in_it)
    ) % {"counted": counted, "n": len(in_it)}
    verdict = side_by_side.result(beds)
    names, _same = arm_names(list(trial.arms.all()))
    return f"{said}: {in_short(names, verdict)}" if verdict else said
