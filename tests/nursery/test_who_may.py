"""Every address as nobody, as a grower, by PIN and as a manager: who is let in."""

import re

import pytest

from nursery.models import Role
from tests import factories
from tests.nursery.test_every_address import BACK_DOOR, ROUTES, ask, filled, world  # noqa: F401

pytestmark = pytest.mark.django_db
METHODS = ("get", "post")

# What is answered without signing in: health, how a phone comes to trust the book, signing in.
OPEN = {"healthz", "trust/", "trust/authority.crt", "sign-in/", "sign-out/", "change-person/"}
# All that a grower may send.
LOGGED = {
    "bench/<slug:verb>/",
    *(
        f"lots/<str:code>/{verb}/"
        for verb in ["check", "finish", "leave", "loss", "move", "pot-up", "stick"]
    ),
    "lots/<str:code>/not-stuck/",
    "sessions/<int:pk>/stuck/",
    "sync/",
    "refused/<int:pk>/",
    "photos/<int:pk>/remove/",
    "varieties/<int:pk>/photo/",
    "password/",
    "pin/",
}


EVERY = [f"{method} {route}" for method in METHODS for route in ROUTES]


def answers(client_class, there: dict, asked, role: str, **how: str) -> dict[str, int]:
    """The status of addresses, by method and route."""
    client, found = client_class(), {}
    client.force_login(factories.person(role=role), **how)
    for what in asked:
        method, route = what.split(" ", 1)
        answer = ask(client, method, filled(route, there))
        answer.close()
        found[what] = answer.status_code
    return found


def those(found: dict[str, int], status: int) -> set[str]:
    return {what for what, said in found.items() if said == status}


def test_nobody_gets_further_than_signing_in(client, world):  # noqa: F811
    addresses = [filled(route, world) for route in ROUTES if route not in OPEN]
    addresses += ["/" + re.sub(r"<[^>]+>", "1", one.partition("(?P")[0]) for one in BACK_DOOR]
    for address in addresses:
        for method in METHODS:
            answer = ask(client, method, address)
            where = answer.headers.get("Location", "").split("?")[0]
            led = address.startswith("/back-door/") and where == "/back-door/login/"
            assert led or (answer.status_code, where) in [(302, "/sign-in/"), (405, "")], address


def test_growers_log_and_look_and_managers_do_the_rest(client, world):  # noqa: F811
    found = answers(type(client), world, EVERY, Role.GROWER)
    closed = those(found, 403)
    done = {what for what in found if what.startswith("post ")} - closed - those(found, 405)
    assert {what.removeprefix("post ") for what in done} - OPEN == LOGGED
    by_pin = answers(type(client), world, closed | done, Role.MANAGER, backend="nursery.pins.ByPin")
    assert those(by_pin, 403) == closed
    assert those(answers(type(client), world, closed, Role.MANAGER), 403) == set()


def test_every_answer_says_what_it_is(client, world):  # noqa: F811
    """And that no browser is to guess, nor other sites to read it."""
    client.force_login(factories.person(role=Role.MANAGER))
    for route in ROUTES:
        answer = ask(client, "get", filled(route, world))
        answer.close()
        kind = answer["Content-Type"]
        assert "charset=utf-8" in kind or not kind.startswith("text/"), route
        assert answer["X-Content-Type-Options"] == "nosniff", route
        assert "default-src 'none'" in answer["Content-Security-Policy"], route
        assert answer["Referrer-Policy"] == "same-origin", route
        assert "Access-Control-Allow-Origin" not in answer, route


def test_names_are_shown_as_they_are_and_never_run(client, boss):
    name = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
    lot = factories.stuck_lot(
        variety=factories.variety(cultivar=name[:60]),
        by=boss,
        place=factories.place(name=name[:20]),
    )
    boss.name = name
    boss.save()
    for path in (
        f"/lots/{lot.code}/",
        "/lots/",
        "/people/",
        "/places/",
        "/varieties/",
        "/find/?code=%3Cscr",
    ):
        page = client.get(path).content.decode()
        assert "<script>alert" not in page, path
        assert "<img src=x" not in page, path
