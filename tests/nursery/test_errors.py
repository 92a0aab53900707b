"""Our own pages for what goes wrong."""

import logging

import pytest
from django.contrib.sessions.exceptions import SessionInterrupted
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import Http404
from django.test import RequestFactory
from django.urls import reverse

from lots.models import Variety
from nursery.views import errors
from tests.factories import manager, person
from tests.pages import elements, select


@pytest.mark.django_db
def test_an_unknown_page_says_how_to_go_on(client):
    client.force_login(person())
    page = client.get("/no/such/page/")
    assert page.status_code == 404
    assert select(page, ".note") == ["There is no such page in the book."]
    assert elements(page, "main form[action='/find/'] input[name=code]")
    assert elements(page, "main a[href='/']")


@pytest.mark.django_db
def test_a_stranger_gets_the_plain_page(client):
    page = client.get("/no/such/page/")
    assert page.status_code == 404
    assert not elements(page, "nav")
    assert elements(page, "a[href='/sign-in/']")


@pytest.mark.django_db
def test_the_sentence_of_a_view_is_shown_and_django_s_own_is_not(client):
    request = RequestFactory().get("/")
    ours = errors.not_found(request, Http404("There is no lot 7K3-QFY."))
    assert select(ours, ".note") == ["There is no lot 7K3-QFY."]
    client.force_login(manager())
    missing = client.get(reverse("person", args=[999]))
    assert missing.status_code == 404
    assert select(missing, ".note") == ["There is no such page in the book."]
    assert Variety._meta.object_name not in missing.content.decode()


def test_a_forbidden_page_says_why():
    request = RequestFactory().get("/")
    page = errors.forbidden(request, PermissionDenied("Only a manager can do this."))
    assert page.status_code == 403
    assert select(page, ".note") == ["Only a manager can do this."]
    assert select(errors.forbidden(request, PermissionDenied()), ".note") == [
        "This isn't for you to open."
    ]


@pytest.mark.django_db
def test_a_form_without_its_token_is_told_and_nothing_saved(client):
    strict = type(client)(enforce_csrf_checks=True)
    strict.force_login(person())
    page = strict.post("/password/", {})
    assert page.status_code == 403
    assert "Nothing was saved" in select(page, ".note")[0]


def test_a_bad_request_is_told_without_its_insides():
    page = errors.bad_request(RequestFactory().get("/"), SuspiciousOperation("secret detail"))
    assert page.status_code == 400
    assert "secret detail" not in page.content.decode()


def test_a_session_ended_under_way_is_told():
    page = errors.bad_request(RequestFactory().get("/"), SessionInterrupted("deleted"))
    assert "signed out" in select(page, ".note")[0]


@pytest.mark.django_db
def test_a_wrong_host_name_says_what_to_set(client):
    page = client.get("/", headers={"Host": "elsewhere.example"})
    assert page.status_code == 400
    assert "NURSERY_ADDRESS" in select(page, ".note")[0]


def test_a_fault_of_the_server_shows_a_sentence_and_no_trace(client, monkeypatch):
    """Without the database: the test is not allowed one."""
    logging.disable(logging.ERROR)
    client.raise_request_exception = False

    def broken(*_args, **_kwargs):
        raise RuntimeError("secret detail")

    monkeypatch.setattr("nursery.views.health.transaction.atomic", broken)
    page = client.get("/healthz")
    logging.disable(logging.NOTSET)
    assert page.status_code == 500
    assert select(page, "h1") == ["Something broke"]
    assert "secret detail" not in page.content.decode()
    assert "RuntimeError" not in page.content.decode()


@pytest.mark.parametrize(
    ("storage", "links"),
    [
        ("django.contrib.staticfiles.storage.StaticFilesStorage", 1),
        ("django.contrib.staticfiles.storage.ManifestStaticFilesStorage", 0),
    ],
)
def test_the_page_of_a_fault_stands_without_the_list_of_static_files(settings, storage, links):
    """No manifest is made for the tests, so the second storage knows no file."""
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": storage}}
    page = errors.server_error(RequestFactory().get("/"))
    assert page.status_code == 500
    assert len(elements(page, "link[rel=stylesheet]")) == links
