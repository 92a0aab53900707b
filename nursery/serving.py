"""The production server, shared by `manage.py serve` and `manage.py demo`."""

import asyncio
import signal
import socket
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from a2wsgi import WSGIMiddleware
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils.translation import gettext as _
from granian.constants import HTTPModes, Interfaces, SSLProtocols
from granian.http import HTTP1Settings
from granian.server.embed import Server

from lots import outlook
from lots.supply import plan
from nursery import backup, environment
from nursery.guard import App, guarded
from nursery.signins import SessionStore

EVERYWHERE = "0.0.0.0"  # noqa: S104 - phones have to reach it
PORT = 8000
# Each thread holds a connection to the database; a nursery's phones seldom ask at once.
THREADS = 12
# Phones keep theirs open; a stranger who says nothing loses it after HEADER_SECONDS.
CONNECTIONS = 500
HEADER_SECONDS = 10


def desk_address(port: int, *, secure: bool = False) -> str:
    """Where the book is found on this machine."""
    return f"{'https' if secure else 'http'}://127.0.0.1:{port}/"


def phone_address(port: int, *, secure: bool = False) -> str:
    """Where phones on the nursery's network find the book: NURSERY_ADDRESS if it is set."""
    scheme = "https" if secure else "http"
    return (settings.NURSERY_ADDRESS or f"{scheme}://{environment.lan_address()}:{port}") + "/"


def serve(
    host: str,
    port: int,
    *,
    certificate: Path | None = None,
    key: Path | None = None,
    announce: Callable[[int], None],
) -> None:
    """Serve the book until SIGTERM or Ctrl-C, and make its forecasts anew as records come in;
    `announce` is called with the port once it is open.

    Port 0 takes any free one. Raises CommandError for a port that can't be opened and for a
    certificate that can't be used.
    """
    port = _free_port(host, port)
    call_command("collectstatic", interactive=False, verbosity=0)
    SessionStore.clear_expired()
    # Only now: WhiteNoise lists the static files once, when the application is made.
    from nursery.wsgi import application

    settings.LAN_ADDRESS = phone_address(port, secure=bool(certificate)).rstrip("/")
    server = _server(host, port, WSGIMiddleware(application, workers=THREADS), certificate, key)
    # Asked once or again, only this thread is told, and no request is broken off by the asking.
    asked = threading.Event()
    for how in (signal.SIGTERM, signal.SIGINT):
        signal.signal(how, lambda *_told: asked.set())
    closing = threading.Event()
    for kept_anew in (outlook.refit_in_background, plan.renew_in_background):
        threading.Thread(target=kept_anew, args=[closing], daemon=True).start()
    try:
        backup.start_daily(closing)
        serving = Serving(server, asked)
        serving.start()
        if _is_open(host, port, asked):
            announce(port)
        asked.wait()
    finally:
        # Asked again from here on, it is stopping already, and Python's own end is no time for it.
        for how in (signal.SIGTERM, signal.SIGINT):
            signal.signal(how, signal.SIG_IGN)
        closing.set()
    serving.stop()


def _server(
    host: str, port: int, application: App, certificate: Path | None, key: Path | None
) -> Server:
    try:
        return Server(
            guarded(application),
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
        self.server, self.ended = server, ended
        self.loop = asyncio.new_event_loop()

    def run(self) -> None:
        try:
            asyncio.run(self.server.serve(), loop_factory=lambda: self.loop)
        finally:  # if it comes to an end by itself, it is as if somebody had asked for it
            self.ended.set()

    def stop(self) -> None:
        with suppress(RuntimeError):  # the loop has come to its end by itself
            self.loop.call_soon_threadsafe(self.server.stop)
        self.join()


def _is_open(host: str, port: int, ended: threading.Event) -> bool:
    """Wait until somebody is found at the address; False if it has ended before."""
    near = {EVERYWHERE: "127.0.0.1", "::": "::1"}.get(host, host)
    while not ended.is_set():
        try:
            socket.create_connection((near, port), timeout=1).close()
        except OSError:
            ended.wait(0.02)
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
