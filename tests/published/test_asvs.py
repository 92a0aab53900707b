"""OWASP ASVS 5.0.0, level 1: each requirement is met by tests or by what is named, or does not
apply. The table is `data/asvs.toml`, where its source stands; the tests it names are here or there.
"""

import re
import socket
import ssl
import tomllib
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import global_settings
from django.contrib.auth.hashers import make_password
from django.test import override_settings

from nursery import forms
from nursery.models import Person
from tests import factories
from tests.nursery.test_https import ask, own  # noqa: F401 - `own` is a book served by https
from tests.pages import elements

ROOT = Path(__file__).resolve().parents[2]
TABLE = tomllib.loads((ROOT / "tests/published/data/asvs.toml").read_text())
# How many of level 1 each section has, beginning with its first.
# fmt: off
SECTIONS = {
    "1.2": 5, "1.3": 2, "1.5": 1, "2.1": 1, "2.2": 2, "2.3": 1, "3.2": 2, "3.3": 1, "3.4": 2,
    "3.5": 3, "4.1": 1, "4.4": 1, "5.2": 2, "5.3": 2, "6.1": 1, "6.2": 8, "6.3": 2, "6.4": 2,
    "7.2": 4, "7.4": 2, "8.1": 1, "8.2": 2, "8.3": 1, "9.1": 3, "9.2": 1, "10.4": 5, "11.3": 2,
    "11.4": 1, "12.1": 1, "12.2": 2, "13.4": 1, "14.2": 1, "14.3": 1, "15.1": 1, "15.2": 1,
    "15.3": 1,
}
# fmt: on

pytestmark = pytest.mark.xdist_group("https")


def test_all_seventy_are_answered():
    asked = [f"{one}.{n}" for one, many in SECTIONS.items() for n in range(1, many + 1)]
    assert len(asked) == 70
    assert list(TABLE) == asked


@pytest.mark.parametrize("number", TABLE)
def test_what_meets_it_is_there(number):
    row = TABLE[number]
    assert row["asks"]
    assert row.get("met") or row.get("by") or row.get("not_here")
    assert not ("not_here" in row and "met" in row)
    for one in row.get("met", []):
        path, _sep, name = one.partition("::")
        source = (ROOT / path).read_text()
        assert re.search(
            rf"^ *(async )?def {name}\(" if name else r"def test_|TestCase", source, re.M
        ), one


def test_nothing_is_run_that_was_not_written_here():
    for room in ("nursery", "lots", "labels"):
        for path in (ROOT / room).rglob("*.py"):
            found = re.search(
                r"(?<![\w.])(eval|exec|__import__)\(|shell=True|pickle", path.read_text()
            )
            assert not found, (path, found)


def new_password(somebody, password: str) -> dict:
    typed = {"old_password": factories.PASSWORD}
    typed |= {"new_password1": password, "new_password2": password}
    return forms.OwnPasswordForm(somebody, typed).errors


@pytest.mark.django_db
def test_a_password_of_letters_alone_will_do():
    somebody = factories.person()
    for password in ("mossandbark", "ΜΟΣΧΟΣΚΑΙΦΛΟΥΔΑ", "苔と樹皮と水と光", "a long one " * 11):
        assert not new_password(somebody, password), password


@pytest.mark.django_db
def test_a_password_is_taken_as_it_is(client):
    somebody = factories.person()
    somebody.set_password("  Moss and Bark  ")
    somebody.save()
    for typed, status in (
        ("Moss and Bark", 422),
        ("  moss and bark  ", 422),
        ("  Moss and Bark  ", 302),
    ):
        given = {"username": somebody.username, "password": typed}
        assert client.post("/sign-in/", given).status_code == status


@pytest.mark.django_db
def test_secrets_are_hidden_as_they_are_typed(client):
    pages = [client.get("/sign-in/")]
    client.force_login(factories.person())
    pages += [client.get("/password/"), client.get("/pin/")]
    fields = [
        field for page in pages for field in elements(page, "input[name*=passw], input[name=pin]")
    ]
    assert len(fields) == 6
    assert {field.get("type") for field in fields} == {"password"}


@pytest.mark.django_db
def test_an_empty_book_has_nobody_in_it():
    assert not Person.objects.exists()


def test_passwords_are_kept_by_pbkdf2():
    with override_settings(PASSWORD_HASHERS=global_settings.PASSWORD_HASHERS):
        kind, rounds, *_rest = make_password("moss").split("$")
    assert (kind, int(rounds) >= 600_000) == ("pbkdf2_sha256", True)


def test_old_tls_is_not_spoken(own):  # noqa: F811
    port = urlsplit(own.addresses[0]).port

    def speak(version: ssl.TLSVersion) -> str | None:
        asking = ssl.create_default_context(cafile=own.folder / "tls/authority.pem")
        asking.set_ciphers("ALL:@SECLEVEL=0")
        asking.minimum_version = asking.maximum_version = version
        with (
            socket.create_connection(("127.0.0.1", port), timeout=10) as plain,
            asking.wrap_socket(plain, server_hostname="127.0.0.1") as secure,
        ):
            return secure.version()

    assert speak(ssl.TLSVersion.TLSv1_3) == "TLSv1.3"
    assert speak(ssl.TLSVersion.TLSv1_2) == "TLSv1.2"
    with pytest.warns(DeprecationWarning, match="TLSv1_1"), pytest.raises(OSError, match="alert"):
        speak(ssl.TLSVersion.TLSv1_1)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "path", [".git/HEAD", "static/../nursery/settings.py", "static/%2e%2e/secret-key", "manage.py"]
)
def test_the_source_is_not_served(own, path):  # noqa: F811
    answer = ask(own.addresses[0], f"/{path}", own.trusting)
    assert answer.status in (302, 400, 404)
    assert b"SECRET_KEY" not in answer.body
    assert b"ref:" not in answer.body
