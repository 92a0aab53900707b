"""Books to plan from: a variety with a past, and what the plan says of it."""

import json
from datetime import date, timedelta
from io import StringIO

from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from lots.models import Leave, Limit, StockPlant, Variety
from tests import factories
from tests.lots import growing
from tests.pages import elements, select


def known_variety(**fields) -> Variety:
    """One of which two years of lots were stuck and sold: finished in 110 days, three in four
    take."""
    by, method = factories.person(), factories.method()
    variety = factories.variety(**fields)
    lots = []
    for n, days in enumerate(range(150, 730, 25)):
        takes = 34 + n % 5
        lot, records = growing.grown(
            days, finishes=108 + n % 5, takes=takes, by=by, variety=variety, method=method
        )
        sold = Leave(pots=takes, by=by, observed_at=growing.moment(days - 130))
        lots.append((lot, [*records, sold]))
    growing.load(*lots)
    growing.learn()
    return variety


def plants(variety: Variety, count: int = 4, **fields) -> list[StockPlant]:
    given = {"pieces_per_cut": 40, "rest_weeks": 4} | fields
    return [
        factories.stock_plant(code=f"{variety.code}-{n:02}", variety=variety, **given)
        for n in range(1, count + 1)
    ]


def ahead(weeks: int) -> date:
    """The Sunday so many weeks after this week."""
    today = timezone.localdate()
    return today + timedelta(days=6 - today.weekday(), weeks=weeks)


def limits(**fields) -> Limit:
    return Limit.objects.create(**fields)


def told(**words) -> dict:
    out = StringIO()
    call_command("plan", "--json", **words, stdout=out)
    return json.loads(out.getvalue())


def page(client, name="plan", *args) -> str:
    return " ".join(select(client.get(reverse(name, args=args)), "main"))


def first_line(client) -> str:
    """The name by which the first line of the plan is sent."""
    return elements(client.get(reverse("plan")), "main input[name=line], main button[name=pin]")[
        0
    ].get("value")
