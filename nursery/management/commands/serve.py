"""`manage.py serve`: the production server, static files included."""

from pathlib import Path

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from nursery import book, serving
from nursery.models import Person


class Command(BaseCommand):
    help = "Serve the book to the desk and to the phones."

    def add_arguments(self, parser) -> None:
        parser.add_argument(
            "--host", default=serving.EVERYWHERE, help="address to listen on; else all of them"
        )
        parser.add_argument("--port", type=int, default=serving.PORT)
        parser.add_argument("--cert", type=Path, metavar="FILE", help="certificate, for https")
        parser.add_argument("--key", type=Path, metavar="FILE", help="its key")

    def handle(self, *, host, port, cert, key, **_options) -> None:
        if bool(cert) != bool(key):
            raise CommandError(_("--cert and --key go together: give both."), returncode=2)
        if book.is_behind():
            call_command("migrate", interactive=False, verbosity=0)
            self.stderr.write(_("The book has been brought up to date with the program."))
        if not Person.objects.exists():
            self.stderr.write(
                _("Nobody can sign in yet: make the first manager with manage.py createsuperuser.")
            )

        def announce(opened: int) -> None:
            self.stdout.write(
                _("On this machine: %(address)s")
                % {"address": serving.desk_address(opened, secure=bool(cert))}
            )
            self.stdout.write(
                _("For phones on the network: %(address)s")
                % {"address": serving.phone_address(opened, secure=bool(cert))}
            )
            self.stdout.write(_("Ctrl-C stops the server."))
            self.stdout.flush()

        serving.serve(host, port, certificate=cert, key=key, announce=announce)
