"""The handbook: what the trade expects of a kind of plant and a way of cutting."""

from collections import defaultdict
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.catalogue.words import WORDS
from lots.forecast.handbook import parts, rows
from lots.models import CropGroup


@require_safe
def words(request: HttpRequest) -> HttpResponse:
    return render(request, "catalogue/words.html", {"words": WORDS.items()})


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
