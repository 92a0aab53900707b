"""Availability: pots finished now and expected week by week, as page, CSV and PDF."""

import csv
from io import StringIO

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger, outlook, supply
from lots.models import Leave
from tests import factories
from tests.lots import growing
from tests.pages import query_count, select

NAMES = ["availability", "availability-csv", "availability-pdf"]


def nursery(by, lots=4):
    """One variety with finished pots and lots to come, in two stages."""
    variety = factories.variety(cultivar="Sugar Fog")
    growing.load(
        *(growing.grown(days=220, by=by, variety=variety, takes=30 + n) for n in range(lots)),
        growing.grown(days=120, by=by, variety=variety),
        growing.grown(days=92, by=by, variety=variety, strikes=80),
    )
    outlook.refit()
    return variety


def test_what_is_finished_and_what_is_to_come(client, grower):
    variety = nursery(grower)
    [line] = supply.lines(26)
    assert (line.variety, str(line.size), line.now) == (variety, "9 cm", 30 + 31 + 32 + 33)
    # 36 pots grow on, and nearly all of them finish; 48 units are in cells.
    assert 30 <= line.coming - line.cells <= 36
    assert 20 < line.cells <= 48
    total = supply.ahead(26)
    assert total.pots + total.later == line.coming
    assert 20 < sum(week.cells for week in total.weeks) <= line.cells
    for week in total.weeks:
        assert week.low <= week.pots <= week.high
    assert total.weeks[0].monday == supply.monday_of(timezone.localdate())


def test_the_page_shows_both(client, grower):
    nursery(grower)
    answer = client.get(reverse("availability"))
    rows = select(answer, "tbody tr")
    assert len(rows) == 1
    assert "Sugar Fog" in rows[0]
    assert "126" in "".join(select(answer, "td[data-label=Now]"))
    assert "9 cm" in " ".join(select(answer, "td[data-label=Pot]"))
    [says] = select(answer, "figcaption")
    assert "8 times in 10" in says
    assert len(select(answer, "figure svg")) == 2
    assert b"style=" not in answer.content


def test_what_went_out_is_no_longer_there(client, grower):
    [lot] = growing.load(growing.grown(by=grower, takes=30))
    moment = growing.moment(1)
    ledger.record(lot, [Leave(pots=12, stage="finished", by=grower, observed_at=moment)])
    [line] = supply.lines(8)
    assert line.now == 18


def test_before_the_first_fit_pots_have_no_band_and_it_says_when(client, grower):
    growing.load(growing.grown(by=grower, takes=30), growing.grown(days=140, by=grower))
    answer = client.get(reverse("availability"))
    assert "band around them is not worked out yet" in " ".join(select(answer, "p.small"))
    assert sorted(select(answer, "tbody td[data-label=Now]")) == ["0", "30"]
    [says] = select(answer, "figcaption")
    assert "8 times in 10" not in says
    weeks = [week.pots for week in supply.weeks(8)]
    assert select(answer, "tfoot td")[2:10] == [str(pots) for pots in weeks]
    rows = client.get(reverse("availability-csv")).content.decode().splitlines()
    assert any(",,," in row for row in rows)


def test_an_empty_book_says_what_to_do(client, grower):
    assert "from the day they are stuck" in select(client.get(reverse("availability")), ".empty")[0]


def test_the_table_for_spreadsheets(client, grower):
    variety = nursery(grower)
    variety.cultivar = "Sugar Fog"
    variety.code = "=V1"
    variety.save(update_fields=["code"])
    answer = client.get(reverse("availability-csv"))
    assert answer["Content-Type"].startswith("text/csv")
    rows = list(csv.DictReader(StringIO(answer.content.decode())))
    assert list(rows[0]) == [
        "variety",
        "name",
        "pot_size",
        "from",
        "pots",
        "low",
        "high",
        "in_cells",
    ]
    now = [row for row in rows if row["from"] == timezone.localdate().isoformat()]
    assert {(row["pot_size"], row["pots"]) for row in now} >= {("9 cm", "126")}
    assert {row["variety"] for row in rows} == {"'=V1"}  # no spreadsheet takes it for a formula
    for row in rows:
        if row["low"]:  # bands reach half a year
            assert int(row["low"]) <= int(row["pots"]) <= int(row["high"])
        assert int(row["in_cells"]) <= int(row["pots"])


def test_the_print(client, grower):
    nursery(grower)
    answer = client.get(reverse("availability-pdf"))
    assert answer["Content-Type"] == "application/pdf"
    pdf = pypdfium2.PdfDocument(answer.content)
    text = pdf[0].get_textpage().get_text_range()
    assert "Sugar Fog" in text
    assert "126" in text
    assert pdf[0].get_size()[0] > pdf[0].get_size()[1]
    pdf.close()


@pytest.mark.parametrize("name", NAMES)
def test_an_empty_book_has_every_form_of_it(client, grower, name):
    assert client.get(reverse(name)).status_code == 200


@pytest.mark.parametrize("name", NAMES)
def test_the_standing_matrix(client, grower, name):
    assert client.post(reverse(name)).status_code == 405
    client.logout()
    assert client.get(reverse(name)).url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", NAMES[:2])
def test_more_rows_take_no_more_queries(client, grower, name):
    nursery(grower)
    client.get(reverse(name))
    before = query_count(client, reverse(name))
    for _ in range(3):
        nursery(grower)
    client.get(reverse(name))
    assert query_count(client, reverse(name)) == before
