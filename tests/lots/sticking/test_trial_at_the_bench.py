"""Where people work: lots, sessions and work sheets say which arm of which trial a lot is."""

import pytest
from django.urls import reverse

from lots.sticking import plans, side_by_side
from tests import factories
from tests.lots.trialling import planned
from tests.pages import elements, query_count, select

pytestmark = pytest.mark.django_db


def test_the_lots_page_names_its_trial_and_arm(client, grower):
    trial = planned()
    lot = side_by_side.beds(trial)[0].lots[0]
    says = f"Trial: Wedges or leaves?, arm {lot.arm.letter} ({lot.method})"
    for name in ("lot", "lot-stick"):
        page = client.get(reverse(name, args=[lot.code]))
        assert select(page, ".in-trial") == [says]
        assert elements(page, f".in-trial a[href='{reverse('trial', args=[trial.pk])}']")
    assert not select(client.get(reverse("lot", args=[factories.stuck_lot().code])), ".in-trial")


def test_the_session_names_arm_and_trial_beside_each_lot(client, grower):
    trial = planned(flats=1)
    factories.planned_lot(session=trial.session)
    page = client.get(reverse("session", args=[trial.session_id]))
    letters = [lot.arm.letter for lot in side_by_side.beds(trial)[0].lots]
    link = f"a[href='{reverse('trial', args=[trial.pk])}']"
    assert select(page, f"tbody {link}") == [f"arm {letter}" for letter in letters]
    assert select(page, f"p {link}") == ["Wedges or leaves?"]


def test_the_work_sheet_has_flat_arm_and_medium_of_each_lot(client, grower):
    trial = planned(flats=2)
    trial.arms.update(medium="bark")
    trial.session.lots.update(medium="bark")
    other = factories.planned_lot(session=trial.session)
    page = client.get(reverse("session-worksheet", args=[trial.session_id]))
    drawn = [f"{bed.flat} {lot.arm.letter}" for bed in side_by_side.beds(trial) for lot in bed.lots]
    assert select(page, ".sheet td:nth-child(7) .nowrap") == drawn
    assert select(page, ".sheet td:nth-child(5) .small") == ["bark"] * 4
    assert str(other) in select(page, ".sheet .code")
    assert "which cell is whose" in " ".join(select(page, "main > p")).lower()


@pytest.mark.parametrize("name", ["session", "session-worksheet"])
def test_more_flats_take_no_more_queries(client, grower, name):
    small, large = planned(flats=1), planned(flats=6, seed=2)
    url = reverse(name, args=[small.session_id])
    assert query_count(client, url) == query_count(client, reverse(name, args=[large.session_id]))


def test_a_session_is_repeated_without_its_trial_and_says_so(boss):
    trial = planned()
    other = factories.planned_lot(session=trial.session)
    session, left_out = plans.repeat(trial.session, trial.session.day, boss)
    assert [lot.variety for lot in session.lots.all()] == [other.variety]
    assert ["“Wedges or leaves?” is a side-by-side trial" in said for said in left_out] == [True]
