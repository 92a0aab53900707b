"""Somebody else takes a shared phone in hand by initials and PIN, for logging and nothing more."""

import pytest
from django.urls import reverse

from nursery.models import KnownDevice, Person
from nursery.pins import MOST_WRONG
from tests.factories import PASSWORD, manager, person
from tests.pages import elements, select

pytestmark = pytest.mark.django_db
URL = "/change-person/"


def sign_in(client, somebody):
    given = {"username": somebody.username, "password": PASSWORD}
    assert client.post("/sign-in/", given).status_code == 302


def set_pin(client, pin, password=PASSWORD):
    return client.post("/pin/", {"password": password, "pin": pin})


@pytest.fixture
def phone(client):
    """A phone on which a grower and a manager have signed in, and chosen PINs; the manager last."""
    client.grower, client.boss = (
        person(name="Ann", initials="AN"),
        manager(name="Bo", initials="BO"),
    )
    for somebody, pin in ((client.grower, "4071"), (client.boss, "86420")):
        sign_in(client, somebody)
        assert set_pin(client, pin)["Location"] == URL
        if somebody == client.grower:
            client.post("/sign-out/")
    return client


def change(client, somebody, pin):
    known = KnownDevice.objects.filter(person=somebody).first()
    return client.post(URL, {"who": known.pk if known else 0, "pin": pin})


def who_is_in(client) -> str:
    return Person.objects.get(pk=client.session["_auth_user_id"]).name


def test_two_taps_and_a_pin_change_who_logs(phone):
    assert select(phone.get(URL), "main label")[:2] == ["AN · Ann", "BO · Bo"]
    assert change(phone, phone.grower, "4071")["Location"] == "/"
    assert who_is_in(phone) == "Ann"
    assert not phone.boss.sign_ins.exists()  # the session of whoever was here before has ended
    row = phone.grower.sign_ins.get()
    assert row.pk == phone.session.session_key
    assert row.since
    phone.post("/sign-out/")
    assert "By initials and PIN" in select(phone.get("/sign-in/"), "main a")
    assert change(phone, phone.boss, "86420").status_code == 302
    assert who_is_in(phone) == "Bo"


def test_by_pin_a_manager_is_none(phone):
    assert phone.get(reverse("people")).status_code == 200
    change(phone, phone.boss, "86420")
    for name in ("people", "data", "person-new", "admin:index"):
        assert phone.get(reverse(name), follow=True).status_code == 403, name
    page = phone.get(reverse("people"))
    assert "came in by PIN" in select(page, ".note")[0]
    assert "People" not in select(phone.get("/"), "nav a")
    assert phone.get(reverse("lots")).status_code == 200
    sign_in_again = {"username": phone.boss.username, "password": PASSWORD}
    phone.post("/sign-out/")
    phone.post("/sign-in/", sign_in_again)
    assert phone.get(reverse("people")).status_code == 200


def test_five_wrong_pins_and_the_phone_knows_them_no_more(phone):
    phone.post("/sign-out/")
    for _try in range(MOST_WRONG - 1):
        page = change(phone, phone.grower, "9999")
        assert page.status_code == 422
        assert select(page, ".errorlist") == ["This isn’t the PIN of Ann."]
    answer = change(phone, phone.grower, "9999")
    assert answer["Location"] == URL
    assert "Ann signs in with the password" in " ".join(select(phone.get(URL), ".messages"))
    assert change(phone, phone.grower, "4071").status_code == 422
    assert change(phone, phone.boss, "86420").status_code == 302
    sign_in(type(phone)(), phone.grower)  # the password goes on elsewhere


def test_the_right_pin_forgets_the_wrong_ones_before(phone):
    for _round in range(3):
        for _try in range(MOST_WRONG - 1):
            change(phone, phone.grower, "9999")
        assert change(phone, phone.grower, "4071").status_code == 302


def test_a_phone_that_does_not_know_them_lets_nobody_in(phone):
    other = type(phone)()
    known = KnownDevice.objects.get(person=phone.grower)
    assert other.post(URL, {"who": known.pk, "pin": "4071"}).status_code == 422
    assert "Nobody can change by PIN" in " ".join(select(other.get(URL), "main"))
    other.cookies["device"] = known.device  # what the database holds is no key
    assert other.post(URL, {"who": known.pk, "pin": "4071"}).status_code == 422
    assert "_auth_user_id" not in other.session


@pytest.mark.parametrize("how", ["ended", "new password", "left", "own new password"])
def test_what_ends_a_sign_in_ends_the_pin_there(phone, client, how):
    boss = type(client)()
    boss.force_login(manager())
    page = reverse("person", args=[phone.grower.pk])
    if how == "ended":
        boss.post(reverse("sign-in-end", args=[phone.grower.pk, "all"]))
    elif how == "new password":
        boss.post(reverse("person-password", args=[phone.grower.pk]))
    elif how == "left":
        boss.post(page, {"name": "Ann", "initials": "AN", "role": "grower"})
    else:
        other = type(client)()
        sign_in(other, phone.grower)
        new = {"new_password1": "moss-and-bark", "new_password2": "moss-and-bark"}
        other.post("/password/", new | {"old_password": PASSWORD})
    assert change(phone, phone.grower, "4071").status_code == 422
    assert who_is_in(phone) == "Bo"


@pytest.mark.parametrize(
    ("pin", "says"),
    [
        ("123", "4 to 8 digits"),
        ("123456789", "4 to 8 digits"),
        ("12a4", "4 to 8 digits"),
        ("٤٠٧١", "4 to 8 digits"),
        ("1111", "guessed at once"),
        ("1234", "guessed at once"),
        ("9876", "guessed at once"),
    ],
)
def test_a_pin_that_will_not_do_is_told(client, grower, pin, says):
    page = set_pin(client, pin)
    assert page.status_code == 422
    assert says in select(page, ".errorlist")[0]
    grower.refresh_from_db()
    assert grower.pin == ""


def test_a_pin_wants_the_password_and_can_be_taken_away(phone):
    page = set_pin(phone, "4071", "wrong")
    assert page.status_code == 422
    assert elements(page, ".field.wrong [name=password]")
    assert set_pin(phone, "")["Location"] == "/"
    assert select(phone.get(URL), "main label")[:-1] == ["AN · Ann"]
    assert Person.objects.get(pk=phone.boss.pk).pin == ""


def test_nobody_chosen_is_told(phone):
    page = phone.post(URL, {"pin": "4071"})
    assert page.status_code == 422
    assert select(page, ".errorlist") == ["Tap your initials."]
