"""`manage.py serve`: the production server, static files included."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from nursery import book, serving, upkeep
from nursery.models import Person


class Command(BaseCommand):
    help = "Serve the book to the desk and to the phones."

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "--host", default=serving.EVERYWHERE, help="address to listen on; else all of them"
        )
        parser.add_argument("--port", type=int, help="8000, or 8443 with --tls")
        parser.add_argument(
            "--tls", action="store_true", help="https, with a certificate of the book's own making"
        )
        parser.add_argument("--cert", type=Path, metavar="FILE", help="https, with this one")
        parser.add_argument("--key", type=Path, metavar="FILE", help="its key")
        parser.add_argument(
            "--plain-port",
            type=int,
            metavar="N",
            help="where http leads to https; 8000 with --tls",
        )

    def handle(
        self, *, host, port=None, tls=False, cert=None, key=None, plain_port=None, **_options
    ) -> None:
        how = _https(tls, cert, key, plain_port)
        if port is None:
            port = serving.TLS_PORT if tls else serving.PORT
        with upkeep.served_once():
            self._serve(host, port, how)

    def _serve(self, host: str, port: int, how: serving.Https | None) -> None:
        book.refuse_newer()
        if book.is_behind():
            if made := book.bring_up_to_date():
                says = _("The book as it was is kept in the backup %(name)s.")
                self.stderr.write(says % {"name": made.path.name})
            self.stderr.write(_("The book has been brought up to date with the program."))
        if not Person.objects.exists():
            self.stderr.write(
                _("Nobody can sign in yet: make the first manager with manage.py createsuperuser.")
            )

        def announce(opened: int) -> None:
            here = serving.desk_address(opened, secure=bool(how))
            phones = serving.phone_address(opened, secure=bool(how))
            self.stdout.write(_("On this machine: %(address)s") % {"address": here})
            self.stdout.write(_("For phones on the network: %(address)s") % {"address": phones})
            if settings.TRUST_ADDRESS:
                says = _("Each phone first trusts this book, once: %(address)s")
                self.stdout.write(says % {"address": settings.TRUST_ADDRESS})
            if how and settings.NURSERY_ADDRESS.startswith("http:"):
                self.stderr.write(
                    _(
                        "NURSERY_ADDRESS begins with http: what tags say leads by plain http to "
                        "https. Set it to the address above that begins with https."
                    )
                )
            self.stdout.write(_("Ctrl-C stops the server."))
            self.stdout.flush()

        serving.serve(host, port, tls=how, announce=announce)


def _https(
    tls: bool, cert: Path | None, key: Path | None, plain_port: int | None
) -> serving.Https | None:
    """How to serve by https, or None for plain http. Raises CommandError where words given on the
    command line don't go together."""
    if bool(cert) != bool(key):
        raise CommandError(_("--cert and --key go together: give both."), returncode=2)
    if tls and cert:
        raise CommandError(
            _("--tls makes a certificate and --cert brings one: give one of them."), returncode=2
        )
    if not tls and not cert:
        if plain_port is not None:
            raise CommandError(
                _("--plain-port goes with --tls or --cert: without them all is plain http."),
                returncode=2,
            )
        return None
    if tls and plain_port is None:
        plain_port = serving.PORT
    return serving.Https(cert, key, plain_port)
