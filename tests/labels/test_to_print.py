"""What is left to print: late lines of a session, tags that show another day, a bench of plants."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from labels.models import PrintedTag
from lots import ledger
from lots.models import Move
from tests import factories
from tests.labels.rows import filled, tag_settings
from tests.labels.samples import said
from tests.pages import elements, query_count, select

TODAY = timezone.localdate


@pytest.fixture
def session(boss):
    """A session planned for yesterday with three lines."""
    session = factories.session(day=TODAY() - timedelta(days=1))
    for _ in range(3):
        factories.planned_lot(session=session)
    return session


def send(client, url, **typed):
    return client.post(url, filled(client.get(url), **{"make": "1"} | typed))


def printed(session) -> list[str]:
    return sorted(
        PrintedTag.objects.filter(lot__session=session).values_list("lot__code", flat=True)
    )


def test_a_late_line_is_told_and_printed_alone(client, session):
    url, page = (reverse(name, args=[session.pk]) for name in ("session-print", "session"))
    assert not elements(client.get(page), f"a[href^='{url}?which']"), "nothing was printed yet"
    assert not elements(client.get(url), "[name=which]")
    send(client, url)
    first = printed(session)
    assert not elements(client.get(page), f"a[href^='{url}?which']"), "all are printed"
    late = factories.planned_lot(session=session)
    shown = client.get(page)
    assert "1 tag is not printed yet" in " ".join(select(shown, ".note"))
    [link] = elements(shown, f"a[href^='{url}?which']")
    form = client.get(link.get("href"))
    assert select(form, "[name=which] option") == ["all (4)", "only those not printed yet (1)"]
    sent = filled(form, make="1")
    assert client.post(url, sent)["Location"] == client.post(url, sent)["Location"]
    assert printed(session) == sorted([*first, late.code])
    again = client.post(url, sent | {"uuid": ""})
    assert "none of these" in select(again, ".field.wrong")[0], "not all of them in place of none"


def test_a_lot_stuck_on_another_day_says_so_and_offers_the_right_tag(client, session, grower):
    lot = session.lots.first()
    client.force_login(session_manager := factories.manager())
    send(client, reverse("session-print", args=[session.pk]))
    page = reverse("lot", args=[lot.code])
    assert not any("another day" in note for note in select(client.get(page), ".note"))
    ledger.stick(lot, units=10, on=TODAY(), by=session_manager)
    shown = client.get(page)
    assert any("another day" in note for note in select(shown, ".note.wrong"))
    [link] = elements(shown, f".note a[href='{reverse('lot-print', args=[lot.code])}']")
    client.force_login(grower)
    told = client.get(page)
    assert any("another day" in note for note in select(told, ".note.wrong"))
    assert not elements(told, ".note a[href$='/tag/']"), "a grower does not print"
    client.force_login(session_manager)
    send(client, link.get("href"))
    assert not any("another day" in note for note in select(client.get(page), ".note"))


def test_a_session_prints_again_what_shows_another_day(client, session):
    url = reverse("session-print", args=[session.pk])
    send(client, url)
    lot = session.lots.first()
    ledger.stick(lot, units=10, on=TODAY(), by=factories.person())
    page = client.get(reverse("session", args=[session.pk]))
    assert "1 printed tag shows another day" in " ".join(select(page, ".note"))
    send(client, f"{url}?which=wrong")
    assert PrintedTag.objects.filter(lot=lot).count() == 2
    assert PrintedTag.objects.count() == 4


def test_a_moved_session_has_its_tags_printed_again(client, session):
    url = reverse("session-print", args=[session.pk])
    send(client, url)
    session.day += timedelta(days=7)
    session.save()
    assert "3 printed tags show another day" in " ".join(
        select(client.get(reverse("session", args=[session.pk])), ".note")
    )


def test_more_printed_tags_take_no_more_queries(client, session):
    url, page = (reverse(name, args=[session.pk]) for name in ("session-print", "session"))
    send(client, url)
    before = query_count(client, url), query_count(client, page)
    for _ in range(3):
        factories.planned_lot(session=session)
    send(client, url)
    assert (query_count(client, url), query_count(client, page)) == before


def test_a_tag_of_a_variety_method_or_place_put_right_since_says_so(client, session, boss):
    here, there = (factories.place(name=name) for name in ("N1-01", "N1-02"))
    tag_settings(place=True)
    lot = session.lots.first()
    ledger.stick(lot, units=10, on=session.day, by=boss, place=here)
    send(client, reverse("lot-print", args=[lot.code]))
    page = reverse("lot", args=[lot.code])
    assert not select(client.get(page), ".note.wrong")
    right, method = factories.variety(), factories.method(name="whole leaf")
    named = {"session": session, "plants": [], "by": boss, "why": "the tags were swapped"}
    ledger.correct(lot, variety=right, method=method, **named)
    ledger.record(lot, [Move(place=there, by=boss, observed_at=timezone.now())])
    [note] = select(client.get(page), ".note.wrong")
    for what, shown, now in (
        ("variety", lot.variety, right),
        ("method", lot.method, method),
        ("place", here, there),
    ):
        assert f"another {what}: {shown}. In the book it is {now}." in note
    assert "another day" not in note
    send(client, reverse("lot-print", args=[lot.code]))
    assert not select(client.get(page), ".note.wrong")


@pytest.fixture
def plants(boss):
    """Stock plants on two benches, one of them gone."""
    found = {}
    for code, place in (("REX-1", "N1-02"), ("REX-2", "N1-01"), ("REX-3", "S1-01")):
        at = factories.place(name=place, walk_order=int(place[-1]))
        found[code] = factories.stock_plant(code=code, place=at)
    factories.stock_plant(code="REX-9", place=at, health="gone")
    return found


def test_the_tags_of_all_stock_plants_are_one_sheet(client, plants):
    [link] = elements(client.get(reverse("stock")), "a[href^='/stock/tags/']")
    assert link.text == "Print 3 tags"
    assert send(client, link.get("href")).status_code == 302
    assert set(PrintedTag.objects.values_list("stock_plant__code", flat=True)) == set(plants)


def test_the_tags_of_a_bench_are_one_sheet_in_walking_order(client, plants):
    page = client.get(reverse("stock"), {"bench": "N1"})
    assert "Print 2 tags" in select(page, "a.button")
    words = said(client.get(reverse("stock-tags"), {"bench": "N1"}).content)
    assert "REX-3" not in words
    order = client.get(reverse("stock-print"), {"bench": "N1"}).context["order"]
    assert [tag.code for tag in order.tags] == ["REX-2", "REX-1"]


def test_a_place_leads_to_the_tags_of_its_plants(client, plants):
    place = plants["REX-3"].place
    page = client.get(reverse("place", args=[place.pk]))
    assert any("1 stock plant stands here" in text for text in select(page, "main p"))
    [link] = elements(page, "a[href^='/stock/tags/']")
    send(client, link.get("href"))
    assert PrintedTag.objects.get().stock_plant == plants["REX-3"]


def test_a_list_of_no_plants_has_no_sheet(client, plants):
    assert "no tags" in select(client.get(reverse("stock-print"), {"q": "zzz"}), ".empty")[0]
    assert client.get(reverse("stock-tags"), {"q": "zzz"}).status_code == 422
    client.force_login(factories.person())
    assert client.get(reverse("stock-print")).status_code == 403
    assert client.get(reverse("stock-tags")).status_code == 403
