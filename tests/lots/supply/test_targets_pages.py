"""Targets: entered one by one or pasted, shown with what serves each, changed and taken out."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots.models import Target
from tests import factories
from tests.lots import growing
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db


@pytest.fixture
def soon():
    return timezone.localdate() + timedelta(days=60)


@pytest.fixture
def kind(soon):
    return {
        "variety": factories.variety(code="RX04"),
        "pot_size": factories.potsize(),
        "wanted_by": soon,
    }


def rows(client) -> list[str]:
    return select(client.get(reverse("targets")), "tbody tr")


def test_an_empty_list_says_what_to_do(client, boss):
    assert "Enter the first" in " ".join(select(client.get(reverse("targets")), "p.empty a"))


def test_each_shows_what_serves_it_and_what_is_short(client, boss, kind):
    lot, *_rest = growing.load(growing.grown(by=boss, takes=30, variety=kind["variety"]))
    assert lot.pots_finished == 30
    Target.objects.create(**kind, pots=20, for_whom="garden fair")
    Target.objects.create(**kind | {"wanted_by": kind["wanted_by"] + timedelta(days=7)}, pots=25)
    first, second = [row.split() for row in rows(client)]
    assert first[-8:] != second[-8:]
    cells = [
        [" ".join("".join(cell.itertext()).split()) for cell in row.findall("td")]
        for row in elements(client.get(reverse("targets")), "tbody tr")
    ]
    assert [row[2:6] for row in cells] == [["20", "20", "0", "0"], ["25", "10", "0", "15"]]
    assert "garden fair" in cells[0]
    assert "1 is short" in " ".join(select(client.get(reverse("targets")), "main p"))


def test_one_is_entered_changed_and_taken_out(client, boss, kind):
    typed = {"variety": kind["variety"].pk, "pot_size": kind["pot_size"].pk, "pots": 60}
    typed |= {"wanted_by": kind["wanted_by"].isoformat(), "for_whom": "fair", "note": ""}
    client.post(reverse("target-new"), typed)
    target = Target.objects.get()
    client.post(reverse("target-change", args=[target.pk]), typed | {"pots": 70})
    target.refresh_from_db()
    assert target.pots == 70
    assert target.history.count() == 2
    asked = client.get(reverse("target-remove", args=[target.pk]))
    assert "Remove" in " ".join(select(asked, "h1"))
    client.post(reverse("target-remove", args=[target.pk]))
    assert not Target.objects.exists()


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"pots": 0}, "1"),
        ({"pots": 10**9}, "100000 is the most"),
        ({"wanted_by": "2020-01-01"}, "That day is over"),
        ({"variety": ""}, ""),
    ],
)
def test_what_cannot_be_wanted_is_told_and_typed_stays(client, boss, kind, wrong, says):
    typed = {"variety": kind["variety"].pk, "pot_size": kind["pot_size"].pk, "pots": 60}
    typed |= {"wanted_by": kind["wanted_by"].isoformat(), "for_whom": "garden fair"} | wrong
    answer = client.post(reverse("target-new"), typed)
    assert answer.status_code == 422
    assert says in " ".join(select(answer, ".errorlist"))
    assert b"garden fair" in answer.content
    assert not Target.objects.exists()


def test_one_whose_day_is_over_can_still_be_noted_on(client, boss, kind):
    target = Target.objects.create(**kind | {"wanted_by": date(2025, 5, 1)}, pots=10)
    typed = {"variety": target.variety_id, "pot_size": target.pot_size_id, "pots": 10}
    typed |= {"wanted_by": "2025-05-01", "for_whom": "", "note": "bought in"}
    assert client.post(reverse("target-change", args=[target.pk]), typed).status_code == 302
    assert rows(client) == []
    over = select(client.get(reverse("targets")), "ul.list li")
    assert "1 May 2025" in over[0]


@pytest.mark.parametrize("mark", ["\t", ";", ","])
@pytest.mark.parametrize("head", [True, False])
def test_a_list_is_pasted(client, boss, kind, soon, mark, head):
    lines = [[kind["variety"].code, kind["pot_size"].name, str(n), str(soon)] for n in (20, 30)]
    if head:
        lines.insert(0, ["variety", "pot_size", "pots", "wanted_by"])
    text = "\r\n".join(mark.join(line) for line in lines)
    answer = client.post(reverse("targets-paste"), {"lines": text}, follow=True)
    assert "2 targets are added" in " ".join(select(answer, "[role=status]"))
    assert sorted(Target.objects.values_list("pots", flat=True)) == [20, 30]


def test_a_wrong_line_is_named_and_nothing_of_the_list_goes_in(client, boss, kind, soon):
    good = f"RX04;{kind['pot_size']};20;{soon};fair;first come"
    text = f"{good}\nRX99;{kind['pot_size']};twenty;{soon}"
    answer = client.post(reverse("targets-paste"), {"lines": text})
    assert answer.status_code == 422
    said = select(answer, ".errorlist li")
    assert any(line.startswith("Line 2, pots") for line in said)
    assert any(line.startswith("Line 2, variety") for line in said)
    assert "RX99" in elements(answer, "textarea")[0].text
    assert not Target.objects.exists()
    client.post(reverse("targets-paste"), {"lines": good})
    assert Target.objects.get().note == "first come"


def test_an_empty_paste_is_told(client, boss):
    assert client.post(reverse("targets-paste"), {"lines": " \n"}).status_code == 422
    assert client.post(reverse("targets-paste"), {"lines": ""}).status_code == 422


def test_a_grower_reads_them_only(client, grower, kind):
    target = Target.objects.create(**kind, pots=20)
    assert rows(client)
    for name, args in (("target-new", []), ("targets-paste", []), ("target-change", [target.pk])):
        assert client.get(reverse(name, args=args)).status_code == 403
    assert client.post(reverse("target-remove", args=[target.pk])).status_code == 403


def test_more_targets_take_no_more_queries(client, grower, kind):
    Target.objects.create(**kind, pots=20)
    before = query_count(client, reverse("targets"))
    for n in range(5):
        Target.objects.create(**kind | {"variety": factories.variety()}, pots=10 + n)
    assert query_count(client, reverse("targets")) == before
