"""What every place says of the pots that are there and to come, read as a person reads it, and that
they all say the same."""

import csv
import re
from collections import Counter
from datetime import timedelta
from io import StringIO

from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from lots.codes import show
from lots.csvbook.cells import unshield
from lots.models import Lot
from lots.models.lot import STANDING
from lots.reports import charts
from lots.templatetags.book import week_number
from tests.pages import elements, select


def number(text: str) -> int:
    """The first number of a cell; an empty one is none."""
    found = re.search(r"\d+", text)
    return int(found.group()) if found else 0


def cells_of(answer, selector: str) -> list[list[str]]:
    """The texts of a table's rows."""
    return [
        [" ".join("".join(cell.itertext()).split()) for cell in row if cell.tag in ("td", "th")]
        for row in elements(answer, f"{selector} tr")
    ]


def of_lots(client) -> tuple[dict[str, int], dict[str, int], Counter]:
    """By code, finished here and to come, and all to come by week, by the lots' own pages."""
    here, coming, weeks = {}, {}, Counter()
    for lot in Lot.objects.filter(stage__in=STANDING):
        answer = client.get(reverse("lot", args=[lot.code]))
        facts = select(answer, ".facts dt, .facts dd")
        says = facts[facts.index("Pots still to come") + 1]
        coming[lot.code] = number(says)
        told = re.search(r"with the (\d+) finished here (\d+) in all", says)
        here[lot.code] = int(told[1]) if told else 0
        if told:
            assert int(told[2]) == here[lot.code] + coming[lot.code]
        rows = cells_of(answer, "#pots-by-week tbody")
        assert sum(number(row[2]) for row in rows) == coming[lot.code]
        weeks.update({row[0]: number(row[2]) for row in rows})
    return here, coming, weeks


def of_command() -> tuple[dict[str, int], dict[str, int]]:
    """By code, finished here and to come, by `manage.py forecast`."""
    out = StringIO()
    call_command("forecast", stdout=out, stderr=StringIO())
    here, coming = {}, {}
    standing = {lot.code for lot in Lot.objects.filter(stage__in=STANDING)}
    for line in out.getvalue().splitlines():
        code = line.partition(":")[0].replace("-", "")
        if code in standing:
            found = re.search(r"(\d+) \(\d+–\d+\) pots to come, (\d+) finished here", line)
            coming[code], here[code] = int(found[1]), int(found[2])
    return here, coming


def of_list(client) -> tuple[Counter, Counter, Counter, list[int], int]:
    """By variety's code and size: now, to come, and of that in cells; the weeks of the whole
    nursery and what comes later; by the page of availability."""
    now, coming, cells = Counter(), Counter(), Counter()
    answer = client.get(reverse("availability"))
    assert not select(answer, ".pages"), "more than a page: the test reads only one"
    rows = cells_of(answer, "#supply tbody")
    for row, code in zip(rows, select(answer, "#supply tbody .code"), strict=True):
        kind = code, row[1].replace("no size yet", "")
        now[kind] += number(row[2])
        coming[kind] += sum(map(number, row[3:-1]))
        cells[kind] += number(row[-1])
    [total] = cells_of(answer, "#supply tfoot") or [["0"] * 13]
    assert number(total[2]) == now.total()
    assert number(total[-1]) == cells.total()
    for n in range(3, len(total)):
        assert number(total[n]) == sum(number(row[n]) for row in rows)
    return now, coming, cells, [number(cell) for cell in total[3:-2]], number(total[-2])


def of_csv(client) -> tuple[Counter, Counter, Counter]:
    """By variety's code and size: now, to come, and of that in cells; by the file."""
    now, coming, cells = Counter(), Counter(), Counter()
    text = client.get(reverse("availability-csv")).content.decode()
    for row in csv.DictReader(StringIO(text, newline="")):
        kind = tuple(" ".join(unshield(row[name]).split()) for name in ("variety", "pot_size"))
        finished = row["low"] == row["high"] == row["pots"] and row["in_cells"] == "0"
        if finished and row["from"] == timezone.localdate().isoformat() and kind not in coming:
            now[kind] += int(row["pots"])
        else:
            coming[kind] += int(row["pots"])
            cells[kind] += int(row["in_cells"])
    return now, coming, cells


def agree(client, monkeypatch) -> tuple[int, int]:
    """Hold every place against the others; returns the pots here and to come of the nursery."""
    drawn = []

    def draw(rows, title):
        drawn.append([(row[0], row[1]) for row in rows])
        return charts.Chart("", "")

    monkeypatch.setattr("lots.reports.charts.weeks", draw)
    by_command = of_command()  # which fits a book that has no fit yet
    here, coming, weeks = of_lots(client)
    assert (here, coming) == by_command
    now, to_come, cells, listed, later = of_list(client)
    assert (now.total(), to_come.total()) == (sum(here.values()), sum(coming.values()))
    assert sum(listed) + later == to_come.total()
    file_now, file_coming, file_cells = of_csv(client)
    assert (+file_now, +file_coming, +file_cells) == (+now, +to_come, +cells)
    for lot in Lot.objects.filter(stage__in=STANDING):
        # What is finished is not to come again.
        most = lot.cells * (lot.pots_made / lot.units_potted if lot.units_potted else 1)
        assert coming[lot.code] <= most + lot.pots_growing + 1, show(lot.code)
    due(client, weeks, listed)
    for chart in drawn:
        for name, pots in chart:
            assert pots == weeks[name]
        if len(chart) == len(listed):
            assert [pots for _, pots in chart] == listed
    return now.total(), to_come.total()


def due(client, weeks: Counter, listed: list[int]) -> None:
    """The pages by week, and Today, against the weeks of the lots and of the list."""
    answer = client.get(reverse("due"))
    rows = {row[0]: row for row in cells_of(answer, "#weeks tbody")}
    later = number(rows.pop("later", ["", "", "", "0"])[3])
    assert sum(number(row[3]) for row in rows.values()) + later == weeks.total()
    for name, row in rows.items():
        assert number(row[3]) == weeks[name], name
    monday = timezone.localdate() - timedelta(days=timezone.localdate().weekday())
    names = [week_number(monday + timedelta(weeks=n)) for n in range(len(listed))]
    assert [weeks[name] for name in names] == listed
    today = select(client.get(reverse("today")), "[aria-labelledby=to-finish] li")
    for name, says in zip(names[:2], today, strict=True):
        told = re.search(r"(\d+) lots?, about (\d+) pots?", says)
        assert (int(told[2]) if told else 0) == weeks[name]
        assert (int(told[1]) if told else 0) == number(rows[name][2] if name in rows else "")
    this_week = cells_of(answer, "#lots tbody")
    assert sum(number(row[3]) for row in this_week) == weeks[names[0]]
