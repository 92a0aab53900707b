"""The book by https: with its own certificate, and behind a proxy, a real one."""

import hashlib
import re
import shutil
import signal
import socket
import sqlite3
import ssl
import subprocess
import time
from contextlib import closing, contextmanager
from http.client import HTTPConnection, HTTPMessage, HTTPSConnection
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlencode, urlsplit

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpResponse
from django.test import override_settings

from nursery import certificates, environment, https
from tests.nursery.conftest import BASE, start_server
from tests.pages import select

pytestmark = pytest.mark.xdist_group("https")
NGINX = shutil.which("nginx", path="/usr/sbin:/usr/bin:/usr/local/bin")


class Answer(NamedTuple):
    status: int
    headers: HTTPMessage
    body: bytes


class Served(NamedTuple):
    folder: Path
    addresses: list[str]
    trusting: ssl.SSLContext


@contextmanager
def serving(folder: Path, *words: str, lines: int, program=("manage.py",), **variables: str):
    """The server's process, and the addresses that it prints."""
    quiet = subprocess.DEVNULL
    with start_server(folder, *words, program=program, stderr=quiet, **variables) as process:
        try:
            yield [process.stdout.readline().split()[-1] for _line in range(lines)]
            process.send_signal(signal.SIGTERM)
            assert process.wait(60) == 0
        finally:
            process.kill()


def ask(address: str, path: str, trusting: ssl.SSLContext, source: str = "", **more) -> Answer:
    parts = urlsplit(address)
    kind, words = (
        (HTTPSConnection, {"context": trusting})
        if parts.scheme == "https"
        else (HTTPConnection, {})
    )
    source_address = (source, 0) if source else None
    with closing(
        kind(parts.hostname, parts.port, timeout=60, source_address=source_address, **words)
    ) as connection:
        connection.request(more.pop("method", "GET"), path, **more)
        answer = connection.getresponse()
        return Answer(answer.status, answer.headers, answer.read())


@pytest.fixture(scope="module")
def own(migrated, tmp_path_factory):
    """A book served with `--tls`."""
    folder = Path(shutil.copytree(migrated, tmp_path_factory.mktemp("tls") / "data"))
    with serving(folder, "--tls", "--port=0", "--plain-port=0", lines=3) as addresses:
        trusting = ssl.create_default_context(cafile=folder / "tls/authority.pem")
        yield Served(folder, addresses, trusting)


def plain(own: Served) -> str:
    return f"http://127.0.0.1:{urlsplit(own.addresses[2]).port}"


def test_who_trusts_the_authority_opens_the_book(own):
    answer = ask(own.addresses[0], "/sign-in/", own.trusting)
    assert answer.status == 200
    [cookie] = answer.headers.get_all("Set-Cookie")
    assert cookie.startswith("__Host-csrftoken=")
    assert "Secure" in cookie
    assert "Path=/" in cookie
    assert "Domain" not in cookie
    assert "no-store" in answer.headers["Cache-Control"]


def test_who_does_not_is_warned(own):
    with pytest.raises(ssl.SSLCertVerificationError):
        ask(own.addresses[0], "/sign-in/", ssl.create_default_context())


def test_plain_http_leads_to_https_at_the_same_host(own):
    port = urlsplit(own.addresses[0]).port
    answer = ask(plain(own), "/L/7K3QF?x=1", own.trusting)
    assert answer.status == 307
    assert answer.headers["Location"] == f"https://127.0.0.1:{port}/L/7K3QF?x=1"
    assert answer.headers.get_all("Set-Cookie") is None
    sent = ask(plain(own), "/sign-in/", own.trusting, method="POST", body="username=a")
    assert sent.status == 307
    assert ask(plain(own), "/healthz", own.trusting).body == b"ok"


def test_a_phone_is_told_how_to_trust_before_it_does(own):
    answer = ask(plain(own), "/trust/", own.trusting)
    page = HttpResponse(answer.body)
    words = " ".join(select(page, "main"))
    assert own.addresses[2] in words
    assert "Android" in words
    assert "iPhone" in words
    [told] = select(page, ".fingerprint")
    sent = ask(plain(own), "/trust/authority.crt", own.trusting)
    assert sent.headers["Content-Type"] == "application/x-x509-ca-cert"
    seen = hashlib.sha256(sent.body).hexdigest().upper()
    assert seen == told.replace(" ", "")


def test_the_silent_and_the_garbled_stop_nobody(own):
    parts = urlsplit(own.addresses[0])
    silent = [socket.create_connection((parts.hostname, parts.port)) for _n in range(60)]
    for one in silent[::2]:
        one.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
    began = time.monotonic()
    assert ask(own.addresses[0], "/healthz", own.trusting).body == b"ok"
    assert time.monotonic() - began < 2
    for one in silent:
        one.close()


@pytest.mark.parametrize(("port", "lasting"), [(443, True), (8443, False), (None, True)])
def test_browsers_are_told_to_stay_where_https_has_its_own_port(port, lasting):
    assert bool(https.secured(port)["SECURE_HSTS_SECONDS"]) is lasting


@pytest.mark.django_db
def test_without_certificates_of_its_own_there_is_nobody_to_trust(client):
    for path in ("/trust/", "/trust/authority.crt"):
        assert client.get(path).status_code == 404


@pytest.mark.django_db
def test_the_slip_of_a_newcomer_leads_there_first(client, boss, settings):
    settings.TRUST_ADDRESS = "http://192.168.1.20:8000/trust/"
    typed = {"name": "New", "initials": "NN", "username": "new", "role": "grower"}
    answer = client.post("/people/new/", typed | {"password": "a long way to the shed"})
    assert settings.TRUST_ADDRESS in " ".join(select(answer, ".slip"))


# Behind a proxy


@pytest.fixture(scope="module")
def proxied(migrated, tmp_path_factory):
    """A book behind nginx, set up by the README's own lines; its two ports, and the book's."""
    home = tmp_path_factory.mktemp("proxied")
    folder = Path(shutil.copytree(migrated, home / "data"))
    with (
        closing(socket.create_server(("127.0.0.1", 0))) as a,
        closing(socket.create_server(("127.0.0.1", 0))) as b,
    ):
        http, tls = a.getsockname()[1], b.getsockname()[1]
    variables = {"NURSERY_ADDRESS": f"https://localhost:{tls}", "NURSERY_PROXY": "127.0.0.1"}
    with serving(folder, "--port=0", lines=2, **variables) as [desk, _phones]:
        certificate, key = _certificate_for(home)
        lines = re.search(r"```nginx\n(.*?)```", (BASE / "README.md").read_text(), re.DOTALL)[1]
        for old, new in {
            "listen 80;": f"listen 127.0.0.1:{http};",
            "listen 443 ssl;": f"listen 127.0.0.1:{tls} ssl;",
            "book.example.org;": "localhost;",
            "/etc/nginx/book.example.org.pem": str(certificate),
            "/etc/nginx/book.example.org-key.pem": str(key),
            "http://127.0.0.1:8000": desk.rstrip("/"),
        }.items():
            assert old in lines
            lines = lines.replace(old, new)
        paths = "".join(
            f"{what}_temp_path {home}/{what};"
            for what in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
        )
        (home / "nginx.conf").write_text(
            f"daemon off; pid {home}/pid; error_log stderr; events {{}}\n"
            f"http {{ access_log off; {paths}\n{lines}\n}}\n"
        )
        proxy = subprocess.Popen(
            [NGINX, "-p", home, "-c", home / "nginx.conf"], stderr=subprocess.DEVNULL
        )
        with proxy:
            _wait_for(tls)
            trusting = ssl.create_default_context(cafile=home / "tls/authority.pem")
            yield Served(
                folder, [f"https://localhost:{tls}", f"http://localhost:{http}", desk], trusting
            )
            proxy.terminate()


def _certificate_for(home: Path) -> tuple[Path, Path]:
    with override_settings(DATA_DIR=home):
        return certificates.of_the_book(["localhost", "127.0.0.1"])


def _wait_for(port: int) -> None:
    for _look in range(100):
        try:
            return socket.create_connection(("127.0.0.1", port)).close()
        except OSError:
            time.sleep(0.05)
    pytest.fail("nginx doesn't answer")


def tried_from(served: Served) -> set[str]:
    with closing(sqlite3.connect(served.folder / "book.sqlite3")) as book:
        return {row[0] for row in book.execute("SELECT address FROM nursery_wrongpasswords")}


def try_a_password(address: str, served: Served, source: str, **headers: str) -> int:
    page = ask(address, "/sign-in/", served.trusting, source, headers=headers)
    cookie = page.headers["Set-Cookie"].split(";")[0]
    token = re.search(rb'name="csrfmiddlewaretoken" value="(\w+)"', page.body)[1].decode()
    typed = {"username": "nobody", "password": "guess", "csrfmiddlewaretoken": token}
    given = {
        "Cookie": cookie,
        "Origin": address,
        "Content-Type": "application/x-www-form-urlencoded",
    } | headers
    return ask(
        address,
        "/sign-in/",
        served.trusting,
        source,
        method="POST",
        body=urlencode(typed),
        headers=given,
    ).status


def test_behind_a_proxy_cookies_and_forms_go_by_https(proxied):
    secure, http, _book = proxied.addresses
    answer = ask(secure, "/sign-in/", proxied.trusting)
    assert answer.status == 200
    assert answer.headers["Set-Cookie"].startswith("__Host-csrftoken=")
    assert ask(http, "/due/", proxied.trusting).headers["Location"].startswith("https://localhost")
    # 127.0.0.2 is whom the proxy speaks for; who lies to it is not believed.
    lie = {"X-Forwarded-For": "203.0.113.9"}
    assert try_a_password(secure, proxied, "127.0.0.2", **lie) == 422
    assert tried_from(proxied) == {"127.0.0.2"}


def test_nobody_but_the_proxy_is_believed(proxied):
    """Who comes by another way is no https for saying so."""
    lie = {"X-Forwarded-For": "203.0.113.9", "X-Forwarded-Proto": "https"}
    answer = ask(proxied.addresses[2], "/sign-in/", proxied.trusting, "127.0.0.3", headers=lie)
    assert answer.status == 307
    through = ask(proxied.addresses[2], "/sign-in/", proxied.trusting, "127.0.0.1", headers=lie)
    assert through.status == 200


def test_a_proxy_is_named_by_its_address(monkeypatch):
    monkeypatch.setenv("NURSERY_PROXY", "127.0.0.1, ::1")
    assert environment.proxies() == ["127.0.0.1", "::1"]
    for wrong in ("*", "proxy.example.org", "10.0.0.0/8"):
        monkeypatch.setenv("NURSERY_PROXY", wrong)
        with pytest.raises(ImproperlyConfigured, match="IP address"):
            environment.proxies()


# `manage.py`, for which an hour between looks at the certificate is a moment.
IMPATIENT = """
import django, sys
django.setup()
from nursery import serving
serving.LOOKS = 0.3
from django.core.management import execute_from_command_line
execute_from_command_line(sys.argv)
"""


def test_a_certificate_renewed_in_place_is_taken_up_while_it_serves(migrated, tmp_path):
    folder = Path(shutil.copytree(migrated, tmp_path / "data"))
    made, trusting = [], ssl.create_default_context()
    for home in (tmp_path / "first", tmp_path / "second"):
        home.mkdir()
        with override_settings(DATA_DIR=home):
            made.append(certificates.of_the_book(["127.0.0.1"]))
        trusting.load_verify_locations(home / "tls/authority.pem")
    pair = tmp_path / "cert.pem", tmp_path / "key.pem"

    def put(which: int) -> None:
        for source, at in zip(made[which], pair, strict=True):
            at.write_bytes(source.read_bytes())

    def shown() -> str:
        with (
            socket.create_connection(("127.0.0.1", port), timeout=10) as plain,
            trusting.wrap_socket(plain, server_hostname="127.0.0.1") as secure,
        ):
            return secure.getpeercert()["serialNumber"]

    put(0)
    words = ["--port=0", f"--cert={pair[0]}", f"--key={pair[1]}"]
    settled = {"DJANGO_SETTINGS_MODULE": "nursery.settings"}
    with serving(folder, *words, lines=1, program=("-c", IMPATIENT), **settled) as addresses:
        port = urlsplit(addresses[0]).port
        before = shown()
        put(1)
        until = time.monotonic() + 30
        while (now := shown_or_none(shown)) in (before, None):
            assert time.monotonic() < until
            time.sleep(0.1)
        assert ask(addresses[0], "/healthz", trusting).body == b"ok"
        assert now != before


def shown_or_none(shown) -> str | None:
    """None for the moment in which one server closes and the next opens."""
    try:
        return shown()
    except OSError:
        return None
