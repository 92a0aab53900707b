"""The production server, shared by `manage.py serve` and `manage.py demo`."""

import asyncio
import logging
import os
import signal
import socket
import sys
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from logging.handlers import RotatingFileHandler
from pathlib import Path
from typing import NoReturn

from a2wsgi import WSGIMiddleware
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connections
from django.utils.translation import gettext as _
from granian.constants import HTTPModes, Interfaces, SSLProtocols
from granian.http import HTTP1Settings
from granian.server.embed import Server
from granian.utils.proxies import wrap_asgi_with_proxy_headers

from nursery import certificates, environment, https, upkeep
from nursery.guard import App, guarded
from nursery.signins import SessionStore

BEAT = 0.2  # seconds between looks whether somebody has asked for the end
LOG_BYTES, LOGS_BEFORE = 1_000_000, 5
LOOKS = 3600  # seconds between looks whether the certificate was renewed, or has to be

EVERYWHERE = "0.0.0.0"  # noqa: S104 - phones have to reach it
PORT, TLS_PORT = 8000, 8443
# Each thread holds a connection to the database; a nursery's phones seldom ask at once.
# Few: they share one processor, and one that holds the write lock should not stand behind many.
THREADS = 6
# Each question to the database lets another thread go on; who comes back waits so long for it, in
# place of Python's own 5 ms (tests/bench/load.py: saves of 30 phones, p95 1355 ms with 12 threads
# and 5 ms, 754 ms with these).
SWITCH_SECONDS = 0.001
# Phones keep theirs open; a stranger who says nothing loses it after HEADER_SECONDS.
CONNECTIONS = 500
HEADER_SECONDS = 10

log = logging.getLogger(__name__)


def desk_address(port: int, *, secure: bool = False) -> str:
    """Where the book is found on this machine."""
    return f"{'https' if secure else 'http'}://127.0.0.1:{port}/"


def phone_address(port: int, *, secure: bool = False) -> str:
    """Where phones on the nursery's network find the book: NURSERY_ADDRESS if it is set."""
    scheme = "https" if secure else "http"
    return (settings.NURSERY_ADDRESS or f"{scheme}://{environment.lan_address()}:{port}") + "/"


@dataclass(frozen=True)
class Https:
    """How the book is served by https: the certificate and its key, or the nursery's own; and the
    port at which plain http leads there, if there is one."""

    certificate: Path | None = None
    key: Path | None = None
    plain_port: int | None = None


@dataclass(frozen=True)
class Pair:
    """A certificate and its key, and when they were written: they may be renewed where they lie."""

    certificate: Path
    key: Path
    written: tuple[int, ...]


def serve(
    host: str, port: int, *, tls: Https | None = None, announce: Callable[[int], None]
) -> NoReturn:
    """Serve the book until SIGTERM or Ctrl-C, and make its forecasts anew as records come in;
    `announce` is called with the port once it is open.

    Port 0 takes any free one. Raises CommandError for a port that can't be opened and for a
    certificate that can't be used. For who has seen to it that nobody else serves the book (see
    `upkeep.served_once`). It never returns: the process ends with it.
    """
    _log_to_file()
    port = _free_port(host, port)
    plain = None if tls is None or tls.plain_port is None else _free_port(host, tls.plain_port)
    call_command("collectstatic", interactive=False, verbosity=0)
    SessionStore.clear_expired()
    pair = _pair(tls, host)
    _tell_settings(tls, port, plain)
    sys.setswitchinterval(SWITCH_SECONDS)
    # Only now: WhiteNoise lists the static files once, and middleware reads its settings, when the
    # application is made.
    from nursery.wsgi import application

    pages = WSGIMiddleware(application, workers=THREADS)
    asgi = wrap_asgi_with_proxy_headers(guarded(pages), settings.NURSERY_PROXY)
    servers = [_server(host, port, asgi, pair)]
    if plain is not None:
        servers.append(_server(host, plain, asgi))
    # Asked once or again, it is only written down: no request is broken off by the asking, and a
    # handler that took a lock could interrupt the one who holds it.
    asked: list[int] = []
    for how in (signal.SIGTERM, signal.SIGINT):
        signal.signal(how, lambda number, _frame: asked.append(number))
    ended, closing = threading.Event(), threading.Event()

    def is_over() -> bool:
        return bool(asked) or ended.is_set()

    daily_work = threading.Thread(target=upkeep.keep_up, args=[closing])
    try:
        daily_work.start()
        serving = [Serving(server, ended) for server in servers]
        for one in serving:
            one.start()
        if _is_open(host, port, is_over):
            announce(port)
        looked = time.monotonic()
        while not is_over():
            # In short waits: one that a signal comes just before is not woken by it.
            ended.wait(BEAT)
            if tls is None or time.monotonic() - looked < LOOKS:
                continue
            looked = time.monotonic()
            try:
                if (renewed := _pair(tls, host)) != pair:
                    _tell_settings(tls, port, plain)
                    server = _server(host, port, asgi, renewed)
                    serving[0].stop()
                    serving[0], pair = Serving(server, ended), renewed
                    serving[0].start()
            except (CommandError, OSError):
                log.exception("The certificate can't be renewed; the one before stays.")
    finally:
        # Asked again from here on, it is stopping already, and Python's own end is no time for it.
        for how in (signal.SIGTERM, signal.SIGINT):
            signal.signal(how, signal.SIG_IGN)
        closing.set()
    for one in serving:
        one.stop()
    daily_work.join()
    pages.executor.shutdown()
    _end()


def _log_to_file() -> None:
    """What the terminal says is in the data folder, too: the newest few megabytes of it."""
    folder = settings.DATA_DIR / "log"
    folder.mkdir(mode=0o700, exist_ok=True)
    file = RotatingFileHandler(
        folder / "strikebook.log", maxBytes=LOG_BYTES, backupCount=LOGS_BEFORE, encoding="utf-8"
    )
    file.setFormatter(logging.Formatter(settings.LOGGING["formatters"]["line"]["format"]))
    logging.getLogger().addHandler(file)


def _end() -> NoReturn:
    """End the process now that all its work is done, without Python's own end: threads of granian's
    are still going, and one that asks for Python while that ends aborts the process."""
    connections.close_all()
    logging.shutdown()
    sys.stdout.flush()
    sys.stderr.flush()
    os._exit(0)


def _pair(tls: Https | None, host: str) -> Pair | None:
    """The certificate to serve with; the nursery's own is made, or renewed, where it has to be."""
    if tls is None:
        return None
    if tls.certificate and tls.key:
        paths = tls.certificate, tls.key
    else:
        names = {name.strip("[]") for name in environment.host_names(settings.NURSERY_ADDRESS)}
        paths = certificates.of_the_book(sorted(names | ({host} - {EVERYWHERE, "::"})))
    return Pair(*paths, tuple(path.stat().st_mtime_ns for path in paths if path.exists()))


def _tell_settings(tls: Https | None, port: int, plain: int | None) -> None:
    """What is only known now: the addresses, and whether all goes by https."""
    found: dict[str, object] = {
        "ALLOWED_HOSTS": environment.host_names(settings.NURSERY_ADDRESS),
        "LAN_ADDRESS": phone_address(port, secure=tls is not None).rstrip("/"),
    }
    if tls:
        found |= https.secured(port)
        if not tls.certificate and plain is not None:
            found["TRUST_ADDRESS"] = f"http://{environment.lan_address()}:{plain}/trust/"
    for name, value in found.items():
        setattr(settings, name, value)


def _server(host: str, port: int, application: App, pair: Pair | None = None) -> Server:
    certificate, key = (pair.certificate, pair.key) if pair else (None, None)
    try:
        return Server(
            application,
            address=host,
            port=port,
            interface=Interfaces.ASGINL,
            http=HTTPModes.http1,
            http1_settings=HTTP1Settings(header_read_timeout=HEADER_SECONDS * 1000),
            websockets=False,
            backpressure=CONNECTIONS,
            log_enabled=False,
            ssl_cert=certificate,
            ssl_key=key,
            ssl_protocol_min=SSLProtocols.tls12,
        )
    except OSError as fault:  # ssl.SSLError is one
        raise CommandError(
            _(
                "The certificate %(certificate)s and the key %(key)s can't be used together "
                "(%(fault)s). Both have to be files in PEM form, the key without a password."
            )
            % {"certificate": certificate, "key": key, "fault": fault}
        ) from fault


class Serving(threading.Thread):
    """The server's own loop in a thread of its own, which waits for connections and hands requests
    that are read whole to the threads of the application."""

    def __init__(self, server: Server, ended: threading.Event) -> None:
        super().__init__(daemon=True)
        self.server, self.ended, self.is_stopping = server, ended, False
        self.loop = asyncio.new_event_loop()

    def run(self) -> None:
        try:
            asyncio.run(self.server.serve(), loop_factory=lambda: self.loop)
        finally:
            if not self.is_stopping:  # it comes to its end by itself, and so does the rest
                self.ended.set()

    def stop(self) -> None:
        self.is_stopping = True
        with suppress(RuntimeError):  # the loop has come to its end by itself
            self.loop.call_soon_threadsafe(self.server.stop)
        self.join()


def _is_open(host: str, port: int, is_over: Callable[[], bool]) -> bool:
    """Wait until somebody is found at the address; False if it is over before."""
    near = {EVERYWHERE: "127.0.0.1", "::": "::1"}.get(host, host)
    while not is_over():
        try:
            socket.create_connection((near, port), timeout=1).close()
        except OSError:
            time.sleep(0.02)
        else:
            return True
    return False


def _free_port(host: str, port: int) -> int:
    """The port, once it is seen that it can be opened; any that can, for 0."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        with socket.create_server((host, port), family=family) as probe:
            return int(probe.getsockname()[1])
    except (OSError, OverflowError) as fault:
        raise CommandError(
            _(
                "Port %(port)s of %(host)s can't be opened (%(fault)s). Is the book being served "
                "already? Otherwise choose another port with --port."
            )
            % {"port": port, "host": host, "fault": getattr(fault, "strerror", None) or fault}
        ) from fault
