"""Why a lot is expected when it is: what moved its forecast from the handbook, in days."""

import pytest
from django.urls import reverse

from lots import outlook
from lots.outlook import reasons, row_of
from tests import factories
from tests.lots import growing
from tests.pages import select

pytestmark = pytest.mark.django_db


@pytest.fixture
def nursery(grower):
    """A variety that strikes in 24 days in house A and in 18 in house B, and a lot of it there."""
    variety, method = factories.variety(), factories.method()
    kind = {"variety": variety, "method": method}
    places = [factories.place(name=f"{house}-1-01") for house in "AB"]
    growing.load(
        *(
            growing.grown(
                150 + 9 * n,
                strikes=(24, 18)[n % 2],
                finishes=130,
                by=grower,
                first_place=places[n % 2],
                **kind,
            )
            for n in range(40)
        )
    )
    lot = factories.stuck_lot(days=3, by=grower, place=places[1], **kind)
    outlook.refit()
    return lot


def numbers(page):
    cells = select(page, "#reasons td.number")
    return [int(cell.replace("−", "-")) for cell in cells]


def test_the_days_add_up_from_the_handbook_to_a_lot_of_its_kind(client, nursery):
    page = client.get(reverse("lot", args=[nursery.code]))
    handbook, *parts, usual = numbers(page)
    assert handbook + sum(parts) == usual
    row = row_of(nursery.variety.group, nursery.method).struck
    assert handbook == round((row.low * row.high) ** 0.5)
    assert 15 <= usual <= 21
    told = dict(zip(select(page, "#reasons th"), [handbook, *parts, usual], strict=True))
    assert told["house and bench"] < 0
    assert "Days to strike" in select(page, "#reasons caption")[0]


def test_it_is_of_the_next_stage(nursery, grower):
    [struck] = growing.load(
        growing.grown(60, strikes=18, by=grower, variety=nursery.variety, method=nursery.method)
    )
    [finished] = growing.load(
        growing.grown(160, strikes=18, by=grower, variety=nursery.variety, method=nursery.method)
    )
    assert reasons.reasons(struck).stage == "finished"
    assert reasons.reasons(finished) is None


def test_a_kind_of_which_we_have_no_lots_has_none(client, nursery, grower):
    other = factories.stuck_lot(days=3, by=grower, method=factories.method(name="other"))
    assert reasons.reasons(other) is None
    assert not select(client.get(reverse("lot", args=[other.code])), "#reasons")
