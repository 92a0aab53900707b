"""The handbook: what the trade expects of a kind of plant and a way of cutting."""

from collections import defaultdict
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.forecast import handbook as the_handbook
from lots.models import CropGroup


@require_safe
def handbook(request: HttpRequest) -> HttpResponse:
    """Kind by kind its rows, with the crop groups of this book that root like it."""
    groups = defaultdict(list)
    for group in CropGroup.objects.all():
        groups[group.roots_like].append(group)
    kinds = [
        (kind, list(rows), groups[kind])
        for kind, rows in groupby(the_handbook.rows(), key=lambda row: row.kind)
    ]
    context = {"kinds": kinds, "parts": the_handbook.parts(), "like_nothing": groups[""]}
    return render(request, "catalogue/handbook.html", context)
