"""`manage.py demo`: an invented nursery to look around in."""

from contextlib import nullcontext
from io import StringIO

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _
from qrcode.main import QRCode

from nursery import passwords, serving, upkeep
from nursery.demo.book import RealBook, open_demo
from nursery.demo.catalogue import NURSERY, PEOPLE


class Command(BaseCommand):
    help = "Make the invented demo nursery and serve it."

    def add_arguments(self, parser) -> None:
        parser.add_argument("--port", type=int, default=serving.PORT)
        parser.add_argument("--no-serve", action="store_true", help="make it and stop")
        parser.add_argument("--lots", type=int, default=900, help="about how many lots")
        parser.add_argument("--seed", type=int, default=1, help="another seed, another nursery")
        parser.add_argument("--password", default="", help="of everybody; else one is made up")

    def handle(self, *, port, no_serve, lots, seed, password, **_options) -> None:
        if lots < 1:
            raise CommandError(_("--lots has to be 1 or more."), returncode=2)
        if seed < 0:
            raise CommandError(_("--seed has to be 0 or more."), returncode=2)
        password = password or passwords.made_up()
        with nullcontext() if no_serve else upkeep.served_once():
            self._make(lots, seed, password)
            if no_serve:
                self._say_where(port)
            else:
                serving.serve(serving.EVERYWHERE, port, announce=self._say_where)

    def _make(self, lots: int, seed: int, password: str) -> None:
        try:
            open_demo(lots=lots, seed=seed, password=password)
        except RealBook as fault:
            raise CommandError(
                _(
                    "%(folder)s holds a real book, and the demo never touches one. Set "
                    "NURSERY_DATA_DIR to another folder for the demo."
                )
                % {"folder": settings.DATA_DIR}
            ) from fault
        self._say_who(password)

    def _say_who(self, password: str) -> None:
        self.stdout.write(_("%(nursery)s, a nursery made up.") % {"nursery": NURSERY})
        for username, name, *_rest in PEOPLE:
            if username in ("grower", "manager"):
                words = {"username": username, "password": password, "name": name}
                self.stdout.write(
                    _("Sign in as %(username)s with the password %(password)s (%(name)s)") % words
                )

    def _say_where(self, port: int) -> None:
        desk, phone = serving.desk_address(port), serving.phone_address(port)
        self.stdout.write(_("On this machine: %(address)s") % {"address": desk})
        self.stdout.write(_("For phones on the network: %(address)s") % {"address": phone})
        symbol, drawn = QRCode(), StringIO()
        symbol.add_data(phone)
        symbol.print_ascii(out=drawn, invert=True)  # light on dark, as most terminals are
        self.stdout.write(drawn.getvalue())
        self.stdout.flush()
