"""Before a request gets a thread of the application it is read whole: who sends slowly, or never to
an end, holds no thread. Large bodies, which only somebody signed in may send, are read as they
come."""

import asyncio
import string
from collections.abc import Awaitable, Callable
from contextlib import suppress
from urllib.parse import quote_from_bytes

from lots.views.files import FORM

type Receive = Callable[[], Awaitable[dict]]
type Send = Callable[[dict], Awaitable[None]]
type App = Callable[[dict, Receive, Send], Awaitable[None]]

PAUSE_SECONDS = 1  # after which nobody is sending any more
BODY_SECONDS = 10  # for a body that is read whole: 200 kB a second if it is as large as it may be


def guarded(app: App) -> App:
    """The application (ASGI), asked only once a request is there."""

    async def guard(scope: dict, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return
        # Typed by hand, an address may hold letters that should have been encoded.
        query = quote_from_bytes(scope["query_string"], safe=string.punctuation)
        scope = scope | {"query_string": query.encode()}
        length = _length(scope)
        if length is None:
            await _refuse(send, 411, b"Say how long the request is (Content-Length).")
            return
        if length > FORM:
            await app(scope, *_told_to_the_end(receive, send))
            return
        try:
            async with asyncio.timeout(BODY_SECONDS):
                body = await _whole(receive, length)
        except TimeoutError:
            await _refuse(send, 408, b"It took too long to send this. Nothing was saved.")
            return
        await app(scope, _once(body, receive), send)

    return guard


def _length(scope: dict) -> int | None:
    """What the request says of its own length; None for one that is sent in chunks."""
    headers = dict(scope["headers"])
    if b"transfer-encoding" in headers:
        return None
    said = headers.get(b"content-length", b"0")
    return int(said) if said.isdigit() else None


async def _whole(receive: Receive, length: int) -> bytes:
    body = bytearray()
    while len(body) < length:
        message = await receive()
        body += message.get("body", b"")
        if not message.get("more_body"):
            break
    return bytes(body[:length])


def _once(body: bytes, receive: Receive) -> Receive:
    """What the application is told: the body, and then what becomes of the connection."""
    left = [{"type": "http.request", "body": body, "more_body": False}]

    async def told() -> dict:
        return left.pop() if left else await receive()

    return told


def _told_to_the_end(receive: Receive, send: Send) -> tuple[Receive, Send]:
    """Where the application answers before it has read all, the rest is read and thrown away
    first, for a while and as long as it comes: a browser that is still sending reads no answer."""
    more = True

    async def received() -> dict:
        nonlocal more
        message = await receive()
        more = message.get("more_body", False)
        return message

    async def answered(message: dict) -> None:
        with suppress(TimeoutError):
            async with asyncio.timeout(BODY_SECONDS):
                while more:
                    await asyncio.wait_for(received(), PAUSE_SECONDS)
        await send(message)

    return received, answered


async def _refuse(send: Send, status: int, says: bytes) -> None:
    kind = (b"content-type", b"text/plain; charset=utf-8")
    await send({"type": "http.response.start", "status": status, "headers": [kind]})
    await send({"type": "http.response.body", "body": says})
