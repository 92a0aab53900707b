"""Looks for the kind of record everywhere, in a process of its own: a kind is declared before the
pages, files and commands are loaded. Fails by an assertion."""

import csv
import tempfile
from io import StringIO
from pathlib import Path
from uuid import uuid4

from django.core.management import BaseCommand, call_command
from django.db import DatabaseError, transaction
from django.test import Client
from django.test.utils import setup_test_environment

from lots import ledger
from lots.ledger.audit import audit
from lots.models import RECORDS
from tests import factories
from tests.lots.sending import answer, record
from tests.pages import elements, select


class Command(BaseCommand):
    def handle(self, **options: object) -> None:
        setup_test_environment()
        find()


def find() -> None:
    call_command("migrate", run_syncdb=True, verbosity=0)
    grower = factories.person(name="Grace Grower", initials="GG")
    size = factories.potsize()
    lot = factories.stuck_lot(units=20)
    client = Client()
    client.force_login(grower)
    log_on_its_page(client, lot)
    send(client, lot, size)
    read_back(client, lot, grower)
    keep(lot)
    out_and_in(lot)


def log_on_its_page(client, lot) -> None:
    page = client.get(f"/lots/{lot.code}/")
    [link] = [one for one in elements(page, "a") if one.text_content().strip() == "Feeding"]
    form = client.get(link.get("href"))
    assert {"feed", "grams", "pot_size", "note"} <= {
        one.get("name") for one in elements(form, "[name]")
    }
    wrong = client.post(link.get("href"), {"uuid": uuid4(), "feed": "balanced", "grams": "0"})
    assert wrong.status_code == 422
    said = {"uuid": uuid4(), "feed": "balanced", "grams": "5", "note": "pale"}
    done = client.post(link.get("href"), said, follow=True)
    assert "Saved: feeding. Undo" in select(done, ".messages li")


def send(client, lot, size) -> None:
    sent = record(lot, "feeding", feed="balanced", g=7, pot_size=size.name)
    assert answer(client, sent)["status"] == "saved"
    assert answer(client, sent)["status"] == "already"
    assert answer(client, record(lot, "feeding", feed="soup", g=7))["status"] == "refused"


def read_back(client, lot, grower) -> None:
    for address in (f"/lots/{lot.code}/", "/"):
        text = " ".join(select(client.get(address), "main"))
        assert "Fed: 5 g balanced pale" in text, address
        assert "Fed: 7 g balanced, 9 cm" in text, address
    entry = RECORDS["feeding"].objects.first()
    assert client.get(f"/lots/{lot.code}/void/feeding/{entry.uuid}/").status_code == 200
    ledger.void(entry, by=grower, why="counted twice")
    lot.refresh_from_db()
    assert lot.cells == 20  # it counts nothing
    found = audit()
    assert (found.faults, found.records) == ([], 2)


def keep(lot) -> None:
    """The database keeps it like all records."""
    for change in ({"grams": 9}, None):
        rows = RECORDS["feeding"].objects.filter(lot=lot)
        try:
            with transaction.atomic():
                rows.update(**change) if change else rows._raw_delete(rows.db)
        except DatabaseError:
            continue
        raise AssertionError("A record was changed.")


def out_and_in(lot) -> None:
    with tempfile.TemporaryDirectory() as folder:
        call_command("exportcsv", folder, stdout=StringIO())
        file = Path(folder, "feedings.csv")
        first, second = csv.DictReader(file.read_text(encoding="utf-8-sig").splitlines())
        assert {first["what"], first["grams"], second["pot_size"]} <= {
            "balanced",
            "5",
            "7",
            "9 cm",
            "",
        }
        said = StringIO()
        call_command("importcsv", file, stdout=said)
        assert "feedings.csv: 0 added, 2 already there" in said.getvalue()
        rows = file.read_text(encoding="utf-8-sig").replace(first["uuid"], str(uuid4()))
        file.write_text(rows, encoding="utf-8")
        said = StringIO()
        call_command("importcsv", file, stdout=said)
        assert "feedings.csv: 1 added, 1 already there" in said.getvalue()
