"""Side-by-side trials: planned in a session, the plan to print, and the result."""

import math

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from lots import ledger
from lots import trials as planning
from lots.forecast.trial import Verdict
from lots.forms.trials import TrialForm
from lots.models import Arm, StickingSession, Trial
from lots.views.access import manager_only, posted

LEVEL = 0.05  # a difference that chance alone makes less often than this is called one


@require_safe
def trials(request: HttpRequest) -> HttpResponse:
    listed = Trial.objects.select_related("session", "variety").order_by("-pk")
    page = Paginator(listed, 50).get_page(request.GET.get("page"))
    return render(request, "trials/trials.html", {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
@manager_only
def new(request: HttpRequest, pk: int) -> HttpResponse:
    session = get_object_or_404(StickingSession, pk=pk)
    form = TrialForm(posted(request))
    if form.is_valid():
        names = ("variety", "question", "units", "flats", "seed", "across", "pieces_per_unit")
        asked = {name: form.cleaned_data[name] for name in (*names, "plants", "place")}
        try:
            trial = planning.plan(session, arms=form.arms(), **asked)
        except ledger.Refused as refusal:
            form.add_error(
                {"stock_plants": "plants"}.get(refusal.field, refusal.field), str(refusal)
            )
        else:
            return redirect("trial", trial.pk)
    context = {"form": form, "session": session}
    return render(request, "trials/form.html", context, status=422 if form.errors else 200)


@require_safe
def trial(request: HttpRequest, pk: int) -> HttpResponse:
    trial = get_object_or_404(Trial.objects.select_related("session", "variety"), pk=pk)
    arms = list(trial.arms.select_related("method"))
    beds = planning.beds(trial)
    verdict = planning.result(beds)
    counted = [bed.counted for bed in beds if bed.counted]
    context = {
        "trial": trial,
        "arms": arms,
        "beds": beds,
        "says": _sentences(arms, counted, verdict) if verdict else [],
        "waiting": len(beds) - len(counted),
    }
    return render(request, "trials/trial.html", context)


def _sentences(arms: list[Arm], counted: list, verdict: Verdict) -> list[str]:
    """What the counted flats say, with the evidence behind it."""
    (took_a, stuck_a), (took_b, stuck_b) = (
        [sum(numbers) for numbers in zip(*arm, strict=True)] for arm in zip(*counted, strict=True)
    )
    flats = ngettext("%(n)s flat", "%(n)s flats", len(counted)) % {"n": len(counted)}
    said = [
        _(
            "A, %(a)s: %(took_a)s of %(stuck_a)s took (%(share_a)s). "
            "B, %(b)s: %(took_b)s of %(stuck_b)s (%(share_b)s), in %(flats)s."
        )
        % {
            "a": arms[0],
            "took_a": took_a,
            "stuck_a": stuck_a,
            "share_a": f"{verdict.first:.2f}",
            "b": arms[1],
            "took_b": took_b,
            "stuck_b": stuck_b,
            "share_b": f"{verdict.second:.2f}",
            "flats": flats,
        },
        _claim(verdict),
    ]
    if 0 < verdict.odds_ratio < math.inf:
        said.append(
            _("The odds of taking by A are %(ratio)s times those by B (%(low)s–%(high)s).")
            % {
                "ratio": f"{verdict.odds_ratio:.2f}",
                "low": f"{verdict.low:.2f}",
                "high": f"{verdict.high:.2f}",
            }
        )
    return said


def _claim(verdict: Verdict) -> str:
    if verdict.p >= LEVEL:
        return _(
            "The trial doesn't tell them apart: chance alone makes as large a difference "
            "%(n)s times in 100 (χ² %(chi2)s)."
        ) % {"n": round(100 * verdict.p), "chi2": f"{verdict.chi2:.1f}"}
    # By the odds within flats, which is what was tested; the pooled shares can mislead.
    better = "A" if verdict.odds_ratio > 1 else "B"
    often = (
        _("less than once in 1000 times")
        if verdict.p < 0.001
        else _("%(n)s times in 1000") % {"n": math.ceil(1000 * verdict.p)}
    )
    return _(
        "%(better)s took better: chance alone makes as large a difference %(often)s (χ² %(chi2)s)."
    ) % {"better": better, "often": often, "chi2": f"{verdict.chi2:.1f}"}
