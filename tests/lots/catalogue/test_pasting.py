"""Varieties pasted from a spreadsheet: columns found, names taken apart, seen before anything is
written; a fault leaves out its line alone."""

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from lots.catalogue import pasting
from lots.models import CropGroup, StockPlant, Variety
from tests import factories
from tests.pages import elements, select

pytestmark = pytest.mark.django_db

LIST = """Plant\tCrop group\tQty\tBench\tColour
Begonia 'Silver Moth'\trex begonia\t3\t1-01\tgrey
Begonia × erythrophylla\trhizomatous begonia\t\t\tgreen
'Tin Parade'\trex begonia\t1\t9-99\tred
Hoya kerrii\t\t2\t\tgreen
"""


@pytest.fixture
def rex():
    return CropGroup.objects.create(name="rex begonia", genus="Begonia", roots_like="rex begonia")


def paste(client, lines: str, **more):
    return client.post(reverse("varieties-paste"), {"lines": lines} | more)


def test_a_list_is_shown_and_only_then_added(client, boss, rex):
    factories.place(name="1-01")
    answer = paste(client, LIST)
    assert Variety.objects.count() == StockPlant.objects.count() == 0
    says = " ".join(select(answer, "main p"))
    assert "3 varieties" in says
    assert "2 stock plants" in says
    assert "2 new crop groups" in says
    assert "1 line has a fault" in says
    rows = select(answer, "tbody tr")
    assert "There is no place “9-99”" in rows[2]
    chosen = [one.get("value") for one in elements(answer, "select[name=column] option[selected]")]
    assert chosen == ["name", "group", "plants", "place"]  # the colour is not used
    answer = client.post(
        reverse("varieties-paste"),
        {"lines": LIST, "add": "1", "column": ["name", "group", "plants", "place", ""]},
        follow=True,
    )
    assert "3 varieties are added, with 2 stock plants" in " ".join(select(answer, ".messages"))
    moth = Variety.objects.get(cultivar="Silver Moth")
    assert (moth.genus, moth.group, moth.code) == ("Begonia", rex, "RB01")
    [plant] = StockPlant.objects.filter(variety=moth)
    assert (plant.code, plant.plants, plant.place.name) == ("RB01-01", 3, "1-01")
    hybrid = Variety.objects.get(species="erythrophylla")
    assert hybrid.hybrid
    assert (hybrid.group.roots_like, hybrid.group.genus) == ("rhizomatous begonia", "Begonia")
    hoya = Variety.objects.get(genus="Hoya")
    assert (hoya.group.name, hoya.group.roots_like) == ("hoya", "hoya")
    assert moth.history.get().history_user == boss


def test_pasted_again_it_adds_nothing(client, boss, rex):
    lines = "Begonia 'Silver Moth'\nBegonia 'Silver Moth'\nBegonia 'Tin Parade'"
    answer = paste(client, lines, plants="on", add="1")
    assert Variety.objects.count() == StockPlant.objects.count() == 2
    assert answer.status_code == 302
    answer = paste(client, lines, plants="on")
    rows = select(answer, "tbody tr")
    assert "In the book already, as RB01" in rows[0]
    assert elements(answer, "button[name=add]") == []
    paste(client, lines, plants="on", add="1")
    assert Variety.objects.count() == 2


def test_somebody_knows_better_what_a_column_is(client, boss, rex):
    lines = "rex begonia,Silver Moth\nrex begonia,Tin Parade"
    answer = paste(client, lines)
    assert select(answer, "select option[selected]") == ["name", "crop group"]
    answer = paste(client, lines, column=["group", "name"])
    assert ["Begonia ‘Silver Moth’" in row for row in select(answer, "tbody tr")] == [True, False]
    assert "2 varieties" in " ".join(select(answer, "main p"))


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("", "There is no line yet"),
        ("Moth", "Which genus?"),
        ("genus,name\nBegonia,", "a genus alone"),
        ("name,plants\nBegonia 'One',many", "is no number of stock plants"),
        ("name,plants,since\nBegonia 'One',1,soon", "is no day"),
        ("name,plants,pieces\nBegonia 'One',1,0", "is no number of pieces"),
        ("name,code\nBegonia 'One',taken", "The code taken is taken"),
        (f"Begonia '{'x' * 90}'", "cultivar:"),
        ("\n".join(f"Begonia 'N{n}'" for n in range(2001)), "paste 2000 at most"),
    ],
)
def test_what_cannot_be_is_told_at_its_line(client, boss, rex, lines, says):
    factories.variety(code="TAKEN")
    before = Variety.objects.count()
    answer = paste(client, lines, add="1")
    assert says in " ".join(select(answer, "main"))
    assert Variety.objects.count() == before
    assert lines.strip() in " ".join(one.text or "" for one in elements(answer, "textarea"))


def test_only_managers_paste(client, grower):
    assert paste(client, LIST).status_code == 403


def test_three_hundred_at_once(client, boss, rex, django_assert_max_num_queries):
    lines = "\n".join(f"Begonia 'Moth {n}'\trex begonia" for n in range(300))
    with django_assert_max_num_queries(700):
        paste(client, lines, plants="on", add="1")
    assert Variety.objects.count() == StockPlant.objects.count() == 300
    assert len(set(Variety.objects.values_list("code", flat=True))) == 300


CELL = st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=12)


@given(st.lists(st.lists(CELL, min_size=1, max_size=5), min_size=1, max_size=6), st.booleans())
def test_any_lines_are_read(rows, plants):
    pasted = pasting.read("\n".join("\t".join(row) for row in rows), None, plants)
    codes = [line.variety.code for line in pasted.new]
    assert len(set(codes)) == len(codes)
    assert all(line.variety.genus for line in pasted.new)
