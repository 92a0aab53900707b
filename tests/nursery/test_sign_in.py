"""Signing in and out, the wait after wrong passwords, one's own password."""

from datetime import timedelta

import pytest
from django.contrib.auth import authenticate
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone

from nursery import throttle
from nursery.devices import describe
from nursery.models import KnownDevice, SignIn, WrongPasswords
from nursery.throttle import MOST_TRIES, WAIT
from tests.factories import PASSWORD, person
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
URL = "/sign-in/"


def sign_in(client, somebody, password=PASSWORD, **more):
    return client.post(URL, {"username": somebody.username, "password": password} | more)


def test_a_page_asked_for_signed_out_is_reached_after_signing_in(client):
    somebody = person()
    target = reverse("methods") + "?page=2"
    asked = client.get(target)
    assert asked.status_code == 302
    form = client.get(asked["Location"])
    (hidden,) = elements(form, "input[name=next]")
    assert hidden.get("value") == target
    answer = sign_in(client, somebody, next=hidden.get("value"))
    assert answer["Location"] == target


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example", "javascript:1"])
def test_next_stays_on_the_site(client, elsewhere):
    assert sign_in(client, person(), next=elsewhere)["Location"] == "/"


def test_the_form_lets_passwords_be_pasted_and_names_stay_as_typed(client):
    page = client.get(URL)
    (name,) = elements(page, "input[name=username]")
    (password,) = elements(page, "input[name=password]")
    assert name.get("autocapitalize") == "none"
    assert password.get("autocomplete") == "current-password"
    assert password.get("onpaste") is None


def test_a_wrong_password_is_told_and_the_name_kept(client):
    somebody = person()
    page = sign_in(client, somebody, "wrong")
    assert page.status_code == 422
    assert "don't go together" in select(page, ".errorlist")[0]
    (name,) = elements(page, "input[name=username]")
    assert name.get("value") == somebody.username
    assert "_auth_user_id" not in client.session


def test_signing_in_makes_a_new_key_and_remembers_the_device(client):
    client.get(URL)
    session = client.session
    session["seen"] = True
    session.save()
    before = session.session_key
    somebody = person()
    client.post(
        URL,
        {"username": somebody.username, "password": PASSWORD},
        headers={"User-Agent": "Mozilla/5.0 (Android 15; Mobile; rv:145.0) Firefox/145.0"},
    )
    row = SignIn.objects.get(person=somebody)
    assert row.pk != before
    assert not SignIn.objects.filter(pk=before).exists()
    assert row.device == "Firefox, Android"
    assert timezone.now() - row.since < timedelta(minutes=1)
    assert row.expire_date - timezone.now() > timedelta(days=179)


@pytest.mark.parametrize(
    ("user_agent", "device"),
    [
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_6) Version/18.6 Safari/604.1", "Safari, iPhone"),
        ("Mozilla/5.0 (Linux; Android 10; K) Chrome/142.0 Safari/537.36", "Chrome, Android"),
        ("Mozilla/5.0 (Windows NT 10.0) Chrome/142.0 Safari/537.36 Edg/142.0", "Edge, Windows"),
        ("curl/8.14", "curl/8.14"),
        ("", "unknown device"),
    ],
)
def test_a_device_is_described_in_words(user_agent, device):
    assert describe(user_agent) == device


def test_someone_who_no_longer_works_here_stays_out(client):
    somebody = person(is_active=False)
    assert sign_in(client, somebody).status_code == 422


def test_the_session_ends_with_the_work(client):
    somebody = person()
    client.force_login(somebody)
    assert client.get(reverse("methods")).status_code == 200
    somebody.is_active = False
    somebody.save(update_fields=["is_active"])
    assert client.get(reverse("methods"))["Location"].startswith(URL)


def test_after_five_wrong_passwords_there_is_a_wait(client):
    somebody, other = person(), person()
    for _try in range(MOST_TRIES - 1):
        assert sign_in(client, somebody, "wrong").status_code == 422
    page = sign_in(client, somebody, "wrong", next="/due/")
    assert page.status_code == 429
    assert page["Retry-After"] == "900"
    assert "Wait 15 minutes" in select(page, ".note")[0]
    assert elements(page, "a.button")[0].get("href") == "/sign-in/?next=/due/"
    # The right password waits too; another name, or the same name from elsewhere, doesn't.
    assert sign_in(client, somebody).status_code == 429
    assert sign_in(client, other).status_code == 302
    client.logout()
    address = {"username": somebody.username, "password": PASSWORD}
    assert client.post(URL, address, REMOTE_ADDR="192.0.2.7").status_code == 302


def test_a_made_up_forwarding_header_does_not_end_the_wait(client):
    somebody = person()
    for number in range(MOST_TRIES):
        page = client.post(
            URL,
            {"username": somebody.username, "password": "wrong"},
            headers={"X-Forwarded-For": f"192.0.2.{number}", "User-Agent": f"agent {number}"},
        )
    assert page.status_code == 429


def test_signing_in_forgets_the_wrong_passwords_before(client):
    somebody = person()
    for _round in range(2):
        for _try in range(MOST_TRIES - 1):
            assert sign_in(client, somebody, "wrong").status_code == 422
        assert sign_in(client, somebody).status_code == 302
        client.logout()


def test_signing_out_is_a_post_and_ends_the_session(client):
    client.force_login(person())
    assert client.get("/sign-out/")["Location"] == "/"
    assert SignIn.objects.exists()
    assert client.post("/sign-out/")["Location"] == URL
    assert not SignIn.objects.exists()
    assert client.post("/sign-out/")["Location"] == URL  # a second tap


def test_who_is_signed_in_is_not_asked_again(client):
    client.force_login(person())
    assert client.get(URL + "?next=/due/")["Location"] == "/due/"
    assert client.get(URL + "?next=/sign-in/")["Location"] == "/"


def test_signing_in_clears_away_what_ran_out(client):
    somebody = person()
    old = type(client)()
    old.force_login(somebody)
    somebody.sign_ins.update(expire_date=timezone.now() - timedelta(days=1))
    sign_in(client, somebody)
    assert somebody.sign_ins.get().pk == client.session.session_key


def change(client, old=PASSWORD, new="moss-and-bark", again=None):
    fields = {"old_password": old, "new_password1": new, "new_password2": again or new}
    return client.post("/password/", fields)


def test_changing_ones_password_keeps_this_device_and_ends_the_others(client, django_user_model):
    somebody = person()
    other = type(client)()
    other.force_login(somebody)
    sign_in(client, somebody)
    assert change(client).status_code == 302
    assert client.get(reverse("methods")).status_code == 200
    assert other.get(reverse("methods")).status_code == 302
    (row,) = somebody.sign_ins.all()
    assert row.pk == client.session.session_key
    assert row.since is not None
    assert django_user_model.objects.get(pk=somebody.pk).check_password("moss-and-bark")


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"old": "wrong"}, "isn't the password you sign in with"),
        ({"again": "moss-and-bork"}, "differ"),
        ({"new": "moss"}, "8 characters"),
        ({"new": "password1"}, "common ones"),
        ({"new": "Willow-Wren1"}, "too much like your name"),
        ({"new": "strikebook2026"[:11]}, "nursery’s own name"),
        ({"new": "fern-hollow-99"}, "nursery’s own name"),
    ],
)
def test_a_bad_new_password_is_told(client, settings, fields, says):
    settings.NURSERY_ADDRESS = "https://fern-hollow.example.org"
    somebody = person(name="Willow Wren")
    client.force_login(somebody)
    page = change(client, **fields)
    assert page.status_code == 422
    assert says in " ".join(select(page, ".errorlist"))
    somebody.refresh_from_db()
    assert somebody.check_password(PASSWORD)


def test_after_the_wait_it_counts_anew_and_what_is_over_is_cleared_away(client):
    somebody, other = person(), person()
    for _try in range(MOST_TRIES):
        sign_in(client, somebody, "wrong")
    WrongPasswords.objects.update(last=timezone.now() - WAIT)
    assert sign_in(client, other, "wrong").status_code == 422
    assert WrongPasswords.objects.get().username == other.username
    assert sign_in(client, somebody, "wrong").status_code == 422
    assert sign_in(client, somebody).status_code == 302


def test_the_back_door_has_the_same_wait(client):
    somebody = person()
    for _try in range(MOST_TRIES):
        sign_in(client, somebody, "wrong")
    request = RequestFactory().post("/back-door/login/")
    assert authenticate(request, username=somebody.username, password=PASSWORD) is None
    elsewhere = RequestFactory(REMOTE_ADDR="192.0.2.7").post("/back-door/login/")
    assert authenticate(elsewhere, username=somebody.username, password=PASSWORD) == somebody


def test_a_name_as_long_as_it_likes_is_counted_too(client):
    for _try in range(MOST_TRIES - 1):
        client.post(URL, {"username": "n" * 5000, "password": "wrong"})
    assert client.post(URL, {"username": "n" * 5000, "password": "wrong"}).status_code in (422, 429)


def try_from(address: str, username: str, client_class, word="wrong") -> int:
    """What a stranger is answered: a browser that nobody has signed in on."""
    given = {"username": username, "password": word}
    return client_class().post(URL, given, REMOTE_ADDR=address).status_code


@pytest.fixture
def quick(monkeypatch):
    """The limits, small enough to be reached."""
    for name, number in (("MOST_OF_ADDRESS", 8), ("MOST_OF_NAME", 8), ("MOST_IN_ALL", 20)):
        monkeypatch.setattr(throttle, name, number)


def test_one_address_that_tries_many_names_waits(client, quick):
    somebody = person()
    said = [try_from("192.0.2.9", f"name{n}", type(client)) for n in range(10)]
    assert said == [422] * 7 + [429] * 3
    assert try_from("192.0.2.9", somebody.username, type(client), PASSWORD) == 429
    assert try_from("192.0.2.8", somebody.username, type(client), PASSWORD) == 302


def test_all_addresses_of_a_machine_are_one(client, quick):
    said = [try_from(f"2001:db8::{n:x}", f"name{n}", type(client)) for n in range(8)]
    assert said[-1] == 429
    assert try_from("2001:db8:0:1::1", "other", type(client)) == 422


def test_one_name_that_is_tried_from_everywhere_waits_but_not_where_it_is_known(client, quick):
    somebody = person()
    assert sign_in(client, somebody).status_code == 302
    client.post("/sign-out/")
    for n in range(9):
        said = try_from(f"192.0.2.{n}", somebody.username.upper(), type(client))
    assert said == 429
    assert try_from("198.51.100.1", somebody.username, type(client), PASSWORD) == 429
    assert sign_in(client, somebody).status_code == 302  # this device knows them


def test_a_flood_of_names_from_everywhere_makes_strangers_wait_and_fills_nothing(client, quick):
    somebody, other = person(), person()
    sign_in(client, somebody)
    client.post("/sign-out/")
    for n in range(40):
        said = try_from(f"192.0.2.{n}", f"name{n}", type(client))
    assert said == 429
    assert WrongPasswords.objects.count() <= 20
    assert try_from("198.51.100.1", other.username, type(client), PASSWORD) == 429
    assert sign_in(client, other).status_code == 429  # whom this device has not seen
    assert sign_in(client, somebody).status_code == 302


def test_a_device_that_is_known_has_five_tries_of_its_own(client):
    somebody = person()
    sign_in(client, somebody)
    client.post("/sign-out/")
    for _try in range(MOST_TRIES):
        said = sign_in(client, somebody, "wrong").status_code
    assert said == 429
    assert sign_in(client, somebody).status_code == 429
    assert try_from("127.0.0.1", somebody.username, type(client), PASSWORD) == 302


def test_a_device_cannot_bring_a_key_of_its_own_making(client):
    client.cookies["device"] = "guessable"
    sign_in(client, person())
    assert client.cookies["device"].value != "guessable"
    assert len(client.cookies["device"].value) > 40
    assert client.cookies["device"]["httponly"]
    kept = KnownDevice.objects.get().device
    assert kept != client.cookies["device"].value


def test_signing_out_tells_the_browser_to_keep_nothing_of_it(client):
    client.force_login(person())
    answer = client.post("/sign-out/")
    assert answer["Clear-Site-Data"] == '"cache", "storage"'


@pytest.mark.parametrize("path", ["/people/", "/people/new/", "/password/", "/pin/", "/data/"])
def test_what_nobody_else_may_see_is_kept_by_no_browser(client, boss, path):
    assert "no-store" in client.get(path)["Cache-Control"]
