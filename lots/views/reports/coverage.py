"""How good our forecasts were."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from lots.reports import charts, coverage

BAND = 0.8


@require_safe
def forecasts(request: HttpRequest) -> HttpResponse:
    found = coverage.judgement()
    context = {"found": found, "names": coverage.STAGES}
    if found.stages:
        context["chart"] = charts.intervals(
            (
                (_label(line), line.share.share, line.share.low, line.share.high)
                for line in [*found.stages, *found.groups]
            ),
            _("inside the band"),
            percent=True,
            mark_at=BAND,
        )
        context["says"] = " ".join(_sentence(line) for line in found.stages)
    return render(request, "reports/coverage.html", context)


def _label(line: coverage.CoverageLine) -> str:
    name = str(coverage.STAGES[line.stage])
    return f"{line.group}: {name}" if line.group else f"{_('all')}: {name}"


def _sentence(line: coverage.CoverageLine) -> str:
    share, n = line.share, line.share.count
    sentences = {
        "struck": ngettext(
            "Of %(count)s lot %(share)s in 100 struck inside its band (%(low)s to %(high)s).",
            "Of %(count)s lots %(share)s in 100 struck inside their band (%(low)s to %(high)s).",
            n,
        ),
        "finished": ngettext(
            "Of %(count)s lot %(share)s in 100 finished inside its band (%(low)s to %(high)s).",
            "Of %(count)s lots %(share)s in 100 finished inside their band (%(low)s to %(high)s).",
            n,
        ),
        "take": ngettext(
            "Of %(count)s lot %(share)s in 100 took inside its band (%(low)s to %(high)s).",
            "Of %(count)s lots %(share)s in 100 took inside their band (%(low)s to %(high)s).",
            n,
        ),
    }
    return sentences[line.stage] % {
        "count": n,
        "share": round(100 * share.share),
        "low": round(100 * share.low),
        "high": round(100 * share.high),
    }
