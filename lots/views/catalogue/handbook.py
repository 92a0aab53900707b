"""The handbook: what the trade expects of a kind of plant and a way of cutting."""

from collections import defaultdict
from itertools import groupby

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from lots.catalogue.jobs import JOBS, parts_of
from lots.catalogue.words import WORDS
from lots.forecast.handbook import parts, rows
from lots.models import CropGroup


@require_safe
def words(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/words.html", {"words": WORDS.items()})


@require_safe
def jobs(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/jobs.html", {"jobs": JOBS.items()})


@require_safe
def job(request: HttpRequest, name: str) -> HttpResponse:
    """How a job is done, step by step, with a picture of its page."""
    if name not in JOBS:
        raise Http404(_("The hand-book has no page of that name."))
    one = JOBS[name]
    # A bench of the demo is not one of this book: without it the page is that of the round.
    ways = ["" if "{" in step.at else step.at.partition("?")[0] for step in one.steps]
    steps = zip((parts_of(step.says) for step in one.steps), ways, strict=True)
    may = request.user.is_manager or not one.manager
    context = {"name": name, "job": one, "steps": steps, "may": may}
    return render(request, "catalogue/job.html", context)


@require_safe
def handbook(request: HttpRequest) -> HttpResponse:
    """Kind by kind its rows, with the crop groups of this book that root like it."""
    groups = defaultdict(list)
    for group in CropGroup.objects.all():
        groups[group.roots_like].append(group)
    kinds = [
        (kind, list(of_kind), groups[kind])
        for kind, of_kind in groupby(rows(), key=lambda row: row.kind)
    ]
    context = {"kinds": kinds, "parts": parts(), "like_nothing": groups[""]}
    return render(request, "catalogue/handbook.html", context)
