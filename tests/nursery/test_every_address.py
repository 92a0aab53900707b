"""Every address of the site, asked in every wrong way: it answers in words, and never breaks."""

import re
from collections.abc import Iterator
from uuid import uuid4

import pytest
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from lots import ledger
from lots.models import Limit, Refusal, StrikeCheck
from lots.supply import plan
from nursery import backup
from tests import factories
from tests.labels import rows
from tests.lots import trialling
from tests.pages import elements, select

HUGE = "9" * 20
"""More than the whole numbers of either database hold."""


def routes(patterns=None, before: str = "") -> Iterator[str]:
    """The addresses as the site writes them: `lots/<str:code>/check/`."""
    for one in patterns or get_resolver().url_patterns:
        route = before + str(one.pattern)
        if isinstance(one, URLResolver):
            yield from routes(one.url_patterns, route)
        elif isinstance(one, URLPattern):
            yield route


ROUTES = sorted({route for route in routes() if not route.startswith("back-door/")})
BACK_DOOR = sorted({route for route in routes() if route.startswith("back-door/")})


@pytest.fixture
def world(db, monkeypatch):
    """A row for each address: what goes for `<int:pk>` and the like below which folder."""

    def none(*_args):
        raise backup.BackupFault("Not in a test.")

    monkeypatch.setattr(backup, "backup", none)  # it would wait for the test's own transaction
    monkeypatch.setattr(plan, "work", lambda patience: None)  # a thread would not see the test's
    boss = factories.manager()
    plant = factories.stock_plant()
    session = factories.session()
    planned = factories.planned_lot(plants=(plant,), session=session)
    lot = factories.stuck_lot(by=boss)
    check = StrikeCheck(uuid=uuid4(), looked_at=10, rooted=4, observed_at=timezone.now(), by=boss)
    ledger.record(lot, [check])
    refusal = Refusal.objects.create(uuid=uuid4(), by=boss, lot_text="X", sent={}, why="Because.")
    stock = rows.label_stock()
    return {
        "lots/<str:code>/not-stuck/": {"code": planned.code},
        "lots/<str:code>/stick/": {"code": planned.code},
        "lots/": {"code": lot.code, "kind": "check", "uuid": check.uuid},
        "photos/": {"pk": 1},
        "refused/": {"pk": refusal.pk},
        "sessions/": {"pk": session.pk, "code": planned.code},
        "trials/": {"pk": trialling.planned().pk},
        "varieties/": {"pk": plant.variety_id},
        "stock/": {"pk": plant.pk},
        "methods/": {"pk": planned.method_id},
        "changes/": {"pk": factories.noted_change().pk},
        "targets/": {"pk": factories.target().pk},
        "limits/": {"pk": Limit.objects.create(flats=60).pk},
        "places/": {"pk": factories.place().pk},
        "flats/": {"pk": factories.flat().pk},
        "bench/": {"verb": "check"},
        "how-to/": {"name": "find"},
        "pot-sizes/": {"pk": factories.potsize().pk},
        "groups/": {"pk": plant.variety.group_id},
        "labels/stocks/": {"pk": stock.pk},
        "labels/printers/": {"pk": rows.printer().pk},
        "labels/prints/": {"uuid": uuid4(), "page": 1},
        "people/": {"pk": boss.pk, "key": "all"},
        "data/import/": {"number": "abc"},
        "data/columns/": {"name": "lots"},
    }


def filled(route: str, world: dict, **instead) -> str:
    """A route as an address, with the rows of the world in it, or what is given instead."""
    if tag := re.match(r"\^\[(\w)", route):
        return f"/{tag[1]}/{instead.get('code', 'AAAAAA')}"
    given = next((values for start, values in world.items() if route.startswith(start)), {})
    return "/" + re.sub(r"<(?:\w+:)?(\w+)>", lambda name: str((given | instead)[name[1]]), route)


def ask(client, method: str, address: str, *args, **kwargs):
    """One request whose traces in the book and in the client are wiped away."""
    cookies = client.cookies.copy()
    with transaction.atomic():
        answer = getattr(client, method)(address, *args, **kwargs)
        transaction.set_rollback(True)
    client.cookies = cookies
    return answer


def sign_in(client, who: str) -> None:
    if who != "nobody":
        client.force_login(factories.person(role=who))


@pytest.mark.parametrize("who", ["nobody", "grower", "manager"])
def test_a_wrong_method_is_answered_in_words(client, world, who):
    sign_in(client, who)
    for route in ROUTES:
        address = filled(route, world)
        for method in ("put", "post"):
            answer = ask(client, method, address)
            assert answer.status_code < 500, (method, address)
            assert answer.content or answer.status_code == 302, (method, address)
            if method == "put" or answer.status_code == 405:
                assert answer.status_code == 405
                assert answer["Allow"]
                assert b'class="note wrong"' in answer.content, (method, address)


@pytest.mark.parametrize("method", ["put", "patch", "delete", "options", "trace"])
def test_pages_are_opened_or_sent_a_form_and_no_more(client, grower, method):
    answer = getattr(client, method)("/")
    assert answer.status_code == 405
    assert method.upper() in select(answer, ".note.wrong")[0]


@pytest.mark.parametrize("who", ["grower", "manager"])
def test_what_takes_only_a_button_leads_to_its_page(client, world, who):
    """Reached by GET, as after signing in again: one is told, and stands where the button is."""
    sign_in(client, who)
    led = {}
    for route in ROUTES:
        if route.endswith((".pdf", ".png", "export/")):
            continue
        address = filled(route, world)
        answer = ask(client, "get", address)
        assert answer.content or answer.status_code == 302, address
        assert answer.status_code not in (405, 500), address
        if answer.status_code == 302:
            led[route] = answer["Location"]
    assert led["lots/<str:code>/not-stuck/"] == filled("lots/<str:code>/not-stuck/", world)[:-10]
    assert led["sessions/<int:pk>/lines/"] == filled("sessions/<int:pk>/", world)
    assert led["people/<int:pk>/end/<str:key>/"] == filled("people/<int:pk>/", world)
    assert led["data/import/"] == "/data/"
    assert led["sync/"] == led["sign-out/"] == "/"


@pytest.mark.parametrize("who", ["nobody", "manager"])
def test_the_back_door_answers_wrong_methods_too(client, db, who):
    sign_in(client, who)
    for route in BACK_DOOR:
        address = "/" + re.sub(r"<[^>]+>", "1", route.partition("(?P")[0])
        answer = ask(client, "options", address)
        assert answer.status_code == 405, address
        assert answer.content
    assert ask(client, "get", "/back-door/logout/").status_code == 302


def test_a_phone_gets_its_refusal_as_json(client, grower):
    answer = client.put("/sync/", "{}", content_type="application/json")
    assert answer.status_code == 405
    assert "PUT" in answer.json()["why"]


def test_not_stuck_tapped_while_signed_out_ends_on_the_lot(client, db):
    """And both times one is told: at the sign-in that it is not saved, then that it is to do."""
    somebody = factories.person()
    lot = factories.planned_lot()
    tapped = client.post(f"/lots/{lot.code}/not-stuck/", follow=True)
    assert "NOT saved" in select(tapped, ".messages .warning")[0]
    goes_on = elements(tapped, "input[name=next]")[0].get("value")
    typed = {"username": somebody.username, "password": factories.PASSWORD, "next": goes_on}
    page = client.post("/sign-in/", typed, follow=True)
    assert page.status_code == 200
    assert page.request["PATH_INFO"] == f"/lots/{lot.code}/"
    assert "Not done yet" in select(page, ".messages .warning")[0]
    assert elements(page, f"form[action='/lots/{lot.code}/not-stuck/']")


# What a filter, a page number, a copied line or a form may bring to any address.
NAMES = [
    *("group", "variety", "place", "stuck_by", "page", "plants", "method", "copy", "start", "by"),
    *("printer", "flat", "pot_size", "health", "week", "bench", "stage", "age", "q", "code"),
    *("kind", "stock", "dpi", "best", "units", "per", "spare_code"),
]


@pytest.mark.parametrize("value", [HUGE, "9999-W52", "²", "\x00"])
def test_a_number_or_word_that_is_none_breaks_no_page(client, world, value):
    sign_in(client, "manager")
    for route in ROUTES:
        if route != "data/export/":
            address = filled(route, world)
            answer = ask(client, "get", address, dict.fromkeys(NAMES, value))
            assert answer.status_code < 500, address
            if value == "\0":
                assert "NUL" in select(answer, ".note.wrong")[0]


@pytest.mark.parametrize("value", [HUGE, "\x00"])
def test_a_form_filled_with_what_is_no_choice_breaks_no_page(client, world, value):
    """Every field of every form, all with the same value: each is looked at for itself."""
    sign_in(client, "manager")
    for route in ROUTES:
        if route == "data/export/":
            continue
        address = filled(route, world)
        form = ask(client, "get", address)
        if form.headers.get("Content-Type", "").startswith("text/html"):
            names = {field.get("name") for field in elements(form, "form[method=post] [name]")}
            answer = ask(client, "post", address, dict.fromkeys([*names, *NAMES], value))
            assert answer.status_code < 500, address


def test_a_number_that_no_row_has_is_not_found(client, world):
    sign_in(client, "manager")
    for route in ROUTES:
        if "<int:" in route:
            address = filled(route, world, pk=HUGE, page=HUGE)
            for method in ("get", "post"):
                answer = ask(client, method, address)
                assert answer.status_code in (302, 404, 405), (method, address)
                assert answer.content or answer.status_code == 302
