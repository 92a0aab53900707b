"""Strangers who open connections and say nothing, or say it slowly, or send what is too large: the
book goes on answering, and they are put out."""

import socket
import time
from contextlib import ExitStack, closing, suppress
from http.client import HTTPConnection
from threading import Event, Thread

import pytest

from tests.attack.site import Phone

SOON = 2.0  # seconds in which a page comes, on a busy machine
POST = (
    b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: %d\r\n\r\n"
)


@pytest.fixture(scope="module")
def served(shared_book):
    with shared_book.served() as server:
        yield server


@pytest.fixture(scope="module")
def lot(shared_book) -> str:
    return shared_book.seed(1, 10)["lots"][0]


@pytest.fixture
def strangers(served):
    """Opens connections that stay open, and says something on each."""
    host, _colon, port = served.address.partition(":")
    with ExitStack() as stack:

        def open_(count: int, says: bytes = b"") -> list[socket.socket]:
            made = [
                stack.enter_context(closing(socket.create_connection((host, int(port)))))
                for _n in range(count)
            ]
            for one in made:
                one.settimeout(30)
                one.sendall(says)
            return made

        yield open_


def seconds_for_a_page(address: str) -> float:
    began = time.monotonic()
    with closing(HTTPConnection(address, timeout=30)) as connection:
        connection.request("GET", "/sign-in/")
        answer = connection.getresponse()
        assert answer.status == 200
        answer.read()
    return time.monotonic() - began


@pytest.mark.parametrize(
    ("count", "says"),
    [
        (200, b""),
        (60, b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "),
        (60, POST % 10_000),
        (60, POST % 300_000_000),
    ],
    ids=["silent", "half a head", "half a body", "a large body announced"],
)
def test_the_book_answers_whoever_is_slow(served, strangers, count, says):
    strangers(count, says)
    for _time in range(3):
        assert seconds_for_a_page(served.address) < SOON


def test_who_drips_is_put_out(served, strangers):
    """After 10 seconds, however little comes in between."""
    heads = strangers(3, b"GET / HTTP/1.1\r\nHost: localhost\r\n")
    bodies = strangers(3, POST % 10_000)
    over = Event()
    dripping = Thread(target=drip, args=[{b"X-A: b\r\n": heads, b"a": bodies}, over])
    dripping.start()
    try:
        assert [end_of(one) for one in heads] == [b""] * 3
        assert all(b" 408 " in end_of(one) for one in bodies)
    finally:
        over.set()
        dripping.join()


def drip(says: dict[bytes, list[socket.socket]], over: Event) -> None:
    while not over.wait(1):
        for text, connections in says.items():
            for one in connections:
                with suppress(OSError):
                    one.send(text)


def end_of(connection: socket.socket) -> bytes:
    """What the server says at last; nothing where it only closes."""
    try:
        return connection.recv(100)
    except ConnectionError:
        return b""


@pytest.mark.parametrize(
    ("says", "status"),
    [
        (POST % 300_000_000, b"413"),
        (
            b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n",
            b"411",
        ),
        (b"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + b"a" * 600_000 + b"\r\n\r\n", b"431"),
        (b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: -5\r\n\r\n", b"400"),
        ("GET /find/?code=ü HTTP/1.1\r\nHost: localhost\r\n\r\n".encode(), b"302"),
        (b"GET /%ff HTTP/1.1\r\nHost: localhost\r\n\r\n", b"404"),
        (b"\x16\x03\x01" + b"a" * 50, b"400"),
    ],
    ids=["body", "chunks", "head", "negative", "not encoded", "no text", "TLS"],
)
def test_what_is_too_large_or_no_request_is_refused(served, strangers, says, status):
    [one] = strangers(1)
    with suppress(ConnectionError):  # refused before all of it was sent
        one.sendall(says)
    assert end_of(one).partition(b" ")[2][:3] == status


@pytest.mark.parametrize(
    ("path", "size", "status"),
    [
        ("/lots/{lot}/check/", 30 * 1024**2, 413),
        ("/lots/{lot}/check/", 2_200_000, 403),  # no token: it is read, and judged
        ("/sync/", 2_200_000, 413),
    ],
)
def test_the_signed_in_are_told_what_a_page_takes(served, lot, path, size, status):
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    with Phone(served, served.sign_in()) as phone:
        given, text = phone.ask("POST", path.format(lot=lot), "a" * size, **headers)
    assert given == status
    assert given != 413 or "more than this page takes" in text
