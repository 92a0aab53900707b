"""What was done beside the method, on the page that compares methods."""

import pytest
from django.urls import reverse

from lots.models import Lot
from lots.outlook import practices, stored_fit
from tests import factories
from tests.lots import growing
from tests.pages import query_count, select

pytestmark = pytest.mark.django_db


@pytest.fixture
def group():
    """A crop group with two years of lots: those in bark strike in 46 days, the others, in peat, in
    38; a hormone made no difference. Some wrote the medium in capitals."""
    by, group, method = factories.person(), factories.group(), factories.method()
    varieties = [factories.variety(group=group) for _ in range(3)]
    lots = []
    for n, days in enumerate(range(160, 720, 9)):
        bark = n % 3 == 0
        done = {"medium": "Bark mix" if bark else "peat", "hormone": "IBA 0.3 %" if n % 2 else ""}
        if n == 4:
            done["medium"] = "PEAT "
        strikes = (46 if bark else 38) + (n * 5) % 5 - 2
        done |= {"variety": varieties[n % 3 if n % 2 else 0], "method": method}
        lots.append(growing.grown(days, by=by, strikes=strikes, finishes=strikes + 90, **done))
    growing.load(*lots)
    growing.learn()
    return group


def test_what_was_done_is_held_against_what_is_usual(group):
    bark, hormone = practices.practices(group)
    assert (bark.what, bark.word, bark.usual) == ("medium", "Bark mix", "peat")
    assert bark.lots + bark.usual_lots == Lot.objects.count()
    assert bark.effects["struck"].times.middle == pytest.approx(46 / 38, abs=0.06)
    assert bark.effects["struck"].more > 0.99
    assert bark.effects["finished"].times.middle == pytest.approx(136 / 128, abs=0.04)
    assert (hormone.word, hormone.usual) in {("IBA 0.3 %", ""), ("", "IBA 0.3 %")}
    assert 0.95 < hormone.effects["struck"].times.middle < 1.05


def test_the_page_says_it_in_days_with_the_chance(client, grower, group):
    page = client.get(reverse("methods-compare"), {"group": group.pk})
    bark, hormone = select(page, "section[aria-labelledby=done] tbody tr")
    assert "Medium: Bark mix" in bark
    assert "days later; very likely: 99 in 100" in bark
    assert "none" in hormone


def test_with_one_way_alone_there_is_nothing_to_say(client, grower, group):
    Lot.objects.update(medium="peat", hormone="")
    page = client.get(reverse("methods-compare"), {"group": group.pk})
    assert not select(page, "section[aria-labelledby=done]")
    # One that no fit has seen yet is not told.
    Lot.objects.filter(pk=Lot.objects.last().pk).update(medium="sand")
    assert practices.practices(group) == []


def test_before_the_first_fit_nothing_is_claimed(client, grower):
    lot = factories.stuck_lot(medium="peat")
    factories.stuck_lot(medium="bark", variety=lot.variety, method=lot.method)
    page = client.get(reverse("methods-compare"), {"group": lot.variety.group.pk})
    assert page.status_code == 200
    assert not select(page, "section[aria-labelledby=done]")


def test_more_ways_take_no_more_queries(client, grower, group):
    address = reverse("methods-compare") + f"?group={group.pk}"
    before = query_count(client, address)
    assert stored_fit.newest().lots_behind
    for n, lot in enumerate(Lot.objects.all()[:6]):
        Lot.objects.filter(pk=lot.pk).update(medium=f"medium {n}")
    growing.learn()
    client.get(address)
    assert query_count(client, address) <= before
