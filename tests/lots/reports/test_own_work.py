"""How a person's lots took, against what was to be expected of just those."""

import pytest
from django.urls import reverse

from lots import outlook
from lots.reports import own_work
from lots.reports.own_work import Work
from tests import factories
from tests.lots import growing
from tests.pages import select

pytestmark = pytest.mark.django_db


def grown(by, method, variety, takes: int, lots: int) -> None:
    growing.load(
        *(
            growing.grown(
                400 - 3 * n, takes=takes, by=by, stuck_by=by, method=method, variety=variety
            )
            for n in range(lots)
        )
    )


@pytest.fixture
def people(db):
    """Two who stick the same variety by the same method: of one's units most take, of the other's
    few; a third has stuck too little to say anything of."""
    method, variety = factories.method(name="petiole"), factories.variety()
    good, poor, new = (factories.person(initials=sign) for sign in ("GG", "PP", "NN"))
    grown(good, method, variety, 46, 10)
    grown(poor, method, variety, 8, 10)
    grown(new, method, variety, 30, 2)
    outlook.refit()
    return good, poor, new


def test_each_is_held_against_what_was_to_be_expected_of_just_those_lots(people):
    good, poor, new = people
    [well] = own_work.of_person(good)
    [badly] = own_work.of_person(poor)
    assert (well.lots, badly.lots) == (10, 10)
    assert well.took / well.units == pytest.approx(46 / 48)
    assert badly.took / badly.units == pytest.approx(8 / 48)
    assert badly.verdict == "fewer"
    assert well.low <= well.high <= well.units
    assert own_work.of_person(new) == []


@pytest.mark.parametrize(("took", "verdict"), [(40, "fewer"), (50, "as"), (60, "as"), (61, "more")])
def test_what_is_on_the_edge_is_as_expected(took, verdict):
    assert Work(None, 4, 100, took, 50, 60).verdict == verdict


def test_a_person_sees_it_kindly_and_a_manager_as_a_question(client, people):
    _good, poor, _new = people
    client.force_login(poor)
    says = " ".join(select(client.get(reverse("mine")), "main"))
    assert "Fewer than expected. It happens 1 time in 10 by chance" in says
    [work] = own_work.of_person(poor)
    assert f"{work.low}–{work.high}" in says
    client.force_login(factories.manager())
    page = " ".join(select(client.get(reverse("person", args=[poor.pk])), "#work, section p, td"))
    assert "A question to ask together, and no verdict" in page
    assert f"{work.low}–{work.high}" in page
