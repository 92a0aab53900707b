"""Today, the round, due to finish, the list of lots, I grew that."""

import uuid
from datetime import date, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger, supply
from lots.models import Loss, Lot, PotUp, Refusal, Target
from tests import factories
from tests.pages import elements, query_count, select


def shown(lot):
    return f"{lot.code[:3]}-{lot.code[3:]}"


def lots_of(answer, selector):
    return select(answer, f"{selector} .code")


def test_the_round_goes_in_walking_order_and_leaves_out_what_is_not_due(client, grower):
    far, near = factories.place(walk_order=900), factories.place(walk_order=100)
    last, first = factories.stuck_lot(days=60, place=far), factories.stuck_lot(days=60, place=near)
    factories.stuck_lot(days=3, place=near)
    nowhere = factories.stuck_lot(days=60)
    answer = client.get(reverse("round"))
    assert lots_of(answer, ".list") == [shown(first), shown(last), shown(nowhere)]


def test_a_bench_of_the_round(client, grower):
    one = factories.stuck_lot(days=60, place=factories.place(name="North 3"))
    two = factories.stuck_lot(days=60, place=factories.place(name="South 3"))
    answer = client.get(reverse("round"), {"bench": "North"})
    assert lots_of(answer, ".list") == [shown(one)]
    answer = client.get(reverse("today"))
    assert [s for s in select(answer, ".list li") if "Bench" in s] == [
        "Bench North · 1 lot",
        "Bench South · 1 lot",
    ]
    assert two.look_on <= timezone.localdate()


def test_an_empty_book_says_what_to_do(client, boss):
    for name in ("today", "round", "due", "lots", "mine", "sessions"):
        assert select(client.get(reverse(name)), ".empty"), name


def test_today_names_what_is_late_losing_planned_and_short(client, boss):
    late = factories.stuck_lot(days=120)
    losing = factories.stuck_lot(days=5)
    loss = Loss(units=40, reason="rot", stage="cell", by=boss, observed_at=timezone.now())
    ledger.record(losing, [loss])
    planned = factories.planned_lot()
    soon = timezone.localdate() + timedelta(days=20)
    Target.objects.create(
        variety=late.variety, pot_size=factories.potsize(), pots=900, wanted_by=soon
    )
    answer = client.get(reverse("today"))
    assert lots_of(answer, "[aria-labelledby=is-late]") == [shown(late)]
    assert lots_of(answer, "[aria-labelledby=looks-wrong]") == [shown(losing)]
    assert planned.session.code in select(answer, "[aria-labelledby=to-stick] li")[0]
    assert "short" in select(answer, "[aria-labelledby=targets] li")[0]


def test_a_planned_or_dead_lot_is_not_waited_for(client, grower):
    lot = factories.stuck_lot(days=100, units=10)
    factories.planned_lot()
    waited_for = supply.ahead(60)
    assert waited_for.pots == lot.forecasts.get(moment="newest").to_come
    loss = Loss(units=10, reason="rot", stage="cell", by=grower, observed_at=timezone.now())
    ledger.record(lot, [loss])
    assert supply.ahead(60).pots == 0


@pytest.mark.parametrize(
    ("day", "monday"),
    [
        # ISO 8601: the year 2026 has a week 53, which begins on 28 December.
        (date(2026, 12, 31), date(2026, 12, 28)),
        (date(2027, 1, 3), date(2026, 12, 28)),
        (date(2027, 1, 4), date(2027, 1, 4)),
    ],
)
def test_weeks_begin_on_monday_across_the_year(day, monday):
    assert supply.monday_of(day) == monday


def test_the_list_of_lots_filters_and_finds(client, grower):
    me, bench = factories.person(), factories.place()
    wanted = factories.stuck_lot(
        days=20, by=me, place=bench, variety=factories.variety(cultivar="Sugar Fog")
    )
    factories.stuck_lot(days=200)
    planned = factories.planned_lot()

    def found(**query):
        return lots_of(client.get(reverse("lots"), query), "tbody")

    assert found(q="sugar fog") == [shown(wanted)]
    assert found(q=wanted.code.lower()) == [shown(wanted)]
    assert found(stuck_by=me.pk) == [shown(wanted)]
    assert found(place=bench.pk) == [shown(wanted)]
    assert found(age="0-30") == [shown(wanted)]
    assert found(variety=wanted.variety_id) == [shown(wanted)]
    assert found(stage="planned") == [shown(planned)]
    assert len(found()) == 2
    assert len(found(stage="")) == 3
    assert client.get(reverse("lots"), {"place": "x", "stage": "nonsense"}).status_code == 200


def test_the_list_is_paged(client, grower):
    by = factories.person()
    for _ in range(51):
        factories.stuck_lot(by=by)
    assert len(lots_of(client.get(reverse("lots")), "tbody")) == 50
    assert len(lots_of(client.get(reverse("lots"), {"page": 2}), "tbody")) == 1


def test_she_sees_what_became_of_the_flat_she_stuck(client, grower):
    lot = factories.stuck_lot(days=150, by=grower)
    factories.stuck_lot(days=150)
    entry = PotUp(
        units=40, pots=38, pot_size=factories.potsize(), by=grower, observed_at=timezone.now()
    )
    ledger.record(lot, [entry])
    answer = client.get(reverse("mine"))
    assert lots_of(answer, "tbody") == [shown(lot)]
    assert "1 lots stuck" in select(answer, ".counts")[0]
    assert select(answer, "tbody tr td:nth-child(5)") == ["38"]


def test_a_refused_record_is_shown_until_somebody_settles_it(client, grower):
    refusal = Refusal.objects.create(
        uuid=str(uuid.uuid4()), sent={"kind": "loss", "units": 900}, why="Only 3 live.", by=grower
    )
    assert "Only 3 live." in select(client.get(reverse("today")), "[aria-labelledby=refused] li")[0]
    url = reverse("refusal", args=[refusal.pk])
    assert "900" in select(client.get(url), ".facts dd")
    assert client.post(url, {"how": ""}).status_code == 422
    assert client.post(url, {"how": "counted again"}).status_code == 302
    assert not select(client.get(reverse("today")), "[aria-labelledby=refused]")


@pytest.mark.parametrize("name", ["today", "round", "due", "lots", "mine"])
def test_more_rows_take_no_more_queries(client, boss, name):
    def more():
        factories.stuck_lot(days=60, by=boss, place=factories.place(), flat=factories.flat())
        factories.stuck_lot(days=400, by=boss, place=factories.place())
        factories.planned_lot()
        variety = factories.variety()
        Target.objects.create(
            variety=variety,
            pot_size=factories.potsize(),
            pots=9,
            wanted_by=timezone.localdate() + timedelta(days=5),
        )

    more()
    url = reverse(name)
    before = query_count(client, url)
    for _ in range(3):
        more()
    assert query_count(client, url) == before


@pytest.mark.parametrize("name", ["today", "round", "due", "lots", "mine"])
def test_the_standing_matrix(client, grower, name):
    assert client.post(reverse(name)).status_code == 405
    client.logout()
    assert client.get(reverse(name)).url.startswith(reverse("sign-in"))


def test_what_is_saved_leads_to_the_next_lot_of_the_walk(client, grower):
    first, second = (
        factories.place(name="1-01", walk_order=1),
        factories.place(name="1-02", walk_order=2),
    )
    lots = [factories.stuck_lot(units=48, days=60, place=place) for place in (first, second)]
    Lot.objects.update(look_on=timezone.localdate())
    sent = {"uuid": str(uuid.uuid4()), "looked_at": 48, "rooted": 12}
    answer = client.post(reverse("lot-check", args=[lots[0].code]), sent, follow=True)
    [link] = elements(answer, ".messages a.next")
    assert link.get("href") == reverse("lot", args=[lots[1].code])
    assert "1-02" in "".join(link.itertext())
