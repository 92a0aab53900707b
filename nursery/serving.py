"""The production server, shared by `manage.py serve` and `manage.py demo`."""

import signal
import socket
import threading
from collections.abc import Callable
from pathlib import Path

from cheroot import wsgi
from cheroot.server import HTTPConnection
from cheroot.ssl.builtin import BuiltinSSLAdapter
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils.translation import gettext as _

from lots import outlook
from lots.supply import plan
from nursery import backup, environment
from nursery.signins import SessionStore

EVERYWHERE = "0.0.0.0"  # noqa: S104 - phones have to reach it
PORT = 8000
# Each thread holds a connection to the database; a nursery's phones seldom ask at once.
THREADS = 12


def desk_address(port: int, *, secure: bool = False) -> str:
    """Where the book is found on this machine."""
    return f"{'https' if secure else 'http'}://127.0.0.1:{port}/"


def phone_address(port: int, *, secure: bool = False) -> str:
    """Where phones on the nursery's network find the book: NURSERY_ADDRESS if it is set."""
    scheme = "https" if secure else "http"
    return (settings.NURSERY_ADDRESS or f"{scheme}://{environment.lan_address()}:{port}") + "/"


class Server(wsgi.Server):
    def put_conn(self, conn: HTTPConnection) -> None:
        """Keep a connection for the next request. Told to stop, cheroot closes the list of those
        kept while a thread may be about to add to it: that one is closed, too."""
        try:
            super().put_conn(conn)
        except ValueError:
            conn.close()


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
    _check_free(host, port)
    call_command("collectstatic", interactive=False, verbosity=0)
    SessionStore.clear_expired()
    # Only now: WhiteNoise lists the static files once, when the application is made.
    from nursery.wsgi import application

    server = Server((host, port), application, numthreads=THREADS, request_queue_size=64)
    if certificate and key:
        server.ssl_adapter = _adapter(certificate, key)
    server.prepare()
    port = server.bind_addr[1]
    settings.LAN_ADDRESS = phone_address(port, secure=bool(certificate)).rstrip("/")
    # Asked once or again, only this thread is told. An exception in the one that serves could come
    # while it hands a connection to a worker, and that worker would then never be told to stop.
    asked = threading.Event()
    for how in (signal.SIGTERM, signal.SIGINT):
        signal.signal(how, lambda *_told: asked.set())
    closing = threading.Event()
    for kept_anew in (outlook.refit_in_background, plan.renew_in_background):
        threading.Thread(target=kept_anew, args=[closing], daemon=True).start()
    try:
        backup.start_daily(closing)
        announce(port)
        serving = threading.Thread(target=_until_stopped, args=[server, asked], daemon=True)
        serving.start()
        asked.wait()
    finally:
        # Asked again from here on, it is stopping already, and Python's own end is no time for it.
        for how in (signal.SIGTERM, signal.SIGINT):
            signal.signal(how, signal.SIG_IGN)
        closing.set()
        server.stop()
    serving.join()


def _check_free(host: str, port: int) -> None:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    try:
        socket.create_server((host, port), family=family).close()
    except (OSError, OverflowError) as fault:
        raise CommandError(
            _(
                "Port %(port)s of %(host)s can't be opened (%(fault)s). Is the book being served "
                "already? Otherwise choose another port with --port."
            )
            % {"port": port, "host": host, "fault": getattr(fault, "strerror", None) or fault}
        ) from fault


def _adapter(certificate: Path, key: Path) -> BuiltinSSLAdapter:
    try:
        return BuiltinSSLAdapter(str(certificate), str(key))
    except OSError as fault:  # ssl.SSLError is one
        raise CommandError(
            _(
                "The certificate %(certificate)s and the key %(key)s can't be used together "
                "(%(fault)s). Both have to be files in PEM form, the key without a password."
            )
            % {"certificate": certificate, "key": key, "fault": fault}
        ) from fault


def _until_stopped(server: Server, asked: threading.Event) -> None:
    """Serve; if that comes to an end by itself, it is as if somebody had asked for it."""
    try:
        server.serve()
    finally:
        asked.set()
