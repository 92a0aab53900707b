"""`manage.py tags`: the PDF of the tags of a session, or of single lots."""

from pathlib import Path

from django.contrib.auth import get_user_model
from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from labels import qr, sheet
from labels.lot_tags import base_address, of_lots
from labels.models import Printer
from labels.order import Order
from labels.prints import keep_printing
from labels.stock import shipped
from labels.stocks import every_stock
from lots import codes
from lots.models import Lot, StickingSession
from lots.sticking.cutting import in_cutting_order
from nursery.book import is_behind, require_book


class Command(BaseCommand):
    help = "Print the tags of a session or of lots into a PDF."

    def add_arguments(self, parser) -> None:
        what = parser.add_mutually_exclusive_group(required=True)
        what.add_argument("--session", metavar="ID", help="number or code of the session")
        what.add_argument("--lots", nargs="+", metavar="CODE", help="codes of lots")
        what.add_argument("--stocks", action="store_true", help="list the label stocks and stop")
        parser.add_argument("--stock", metavar="NAME", help="name of the label stock")
        parser.add_argument("--start", type=int, default=1, metavar="K", help="first free label")
        parser.add_argument("--printer", metavar="NAME", help="the printer to correct for")
        parser.add_argument(
            "--by", metavar="NAME", help="sign-in name of who prints: the sheet is put on record"
        )
        parser.add_argument("--out", type=Path, metavar="FILE", help="where the PDF goes")

    def handle(self, *, session, lots, stocks, stock, start, printer, by, out, **_options) -> None:
        if stocks:
            self.stdout.write("\n".join(shipped() if is_behind() else every_stock()))
            return
        if not stock or not out:
            raise CommandError("Name the stock with --stock and the file with --out.", returncode=2)
        require_book()
        known = every_stock()
        if stock not in known:
            raise CommandError(
                f"There is no label stock {stock!r}; manage.py tags --stocks lists them."
            )
        corrected = printer_of(printer) if printer else None
        who = person_of(by) if by else None
        chosen = lots_of_session(session) if session else [lot_of(code) for code in lots]
        printables = of_lots(chosen, base_address())
        through = corrected or Printer()
        order = Order(
            tuple(one.tag for one in printables),
            (1,) * len(printables),
            known[stock],
            start,
            through.offset,
            through.scale,
        )
        try:
            made = sheet.make_order(order)
        except (sheet.CannotPrintError, qr.TooSmallError) as fault:
            raise CommandError(str(fault)) from fault
        out.write_bytes(made.pdf)
        if who:
            heading = _("Tags from the command line")
            keep_printing(order, printables, who, heading, corrected)
        for code, sentence in made.problems:
            self.stderr.write(f"{codes.show(code)}: {sentence}" if code else sentence)
        tags = ngettext("%(n)s tag", "%(n)s tags", len(chosen)) % {"n": len(chosen)}
        pages = ngettext("%(n)s page", "%(n)s pages", made.pages) % {"n": made.pages}
        self.stderr.write(f"{tags} on {pages}: {out}")
        if not who:
            self.stderr.write("Nobody is on record as printing them; --by NAME puts it there.")


def printer_of(name: str) -> Printer:
    found = Printer.objects.filter(name=name).first()
    if found is None:
        names = ", ".join(Printer.objects.values_list("name", flat=True))
        raise CommandError(f"There is no printer {name!r} in this book, but: {names or 'none'}.")
    return found


def person_of(name: str):
    """Who may print: an active manager."""
    found = get_user_model().objects.filter(username=name, is_active=True).first()
    if found is None or not found.is_manager:
        raise CommandError(f"There is no manager who signs in as {name!r}.")
    return found


def lots_of_session(name: str) -> list[Lot]:
    """The lots of a session named by its code or number, in cutting order."""
    found = StickingSession.objects.filter(code=name).first()
    if found is None and name.isdecimal():
        found = StickingSession.objects.filter(pk=int(name)).first()
    if found is None:
        raise CommandError(f"There is no session {name!r} in this book.")
    return in_cutting_order(found)


def lot_of(text: str) -> Lot:
    try:
        code = codes.read(text)
    except codes.NotACode as fault:
        raise CommandError(f"{text!r} is no lot code.") from fault
    lot = Lot.objects.select_related(
        "variety", "method", "session__led_by", "flat", "place", "stuck_by", "arm"
    ).filter(code=code)
    if not lot:
        raise CommandError(f"There is no lot {codes.show(code)} in this book.")
    return lot[0]
