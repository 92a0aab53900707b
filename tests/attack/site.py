"""The real server on a book of its own, and phones that talk to it over HTTP."""

import json
import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection
from http.cookies import SimpleCookie
from pathlib import Path
from urllib.parse import urlencode, urlsplit
from uuid import uuid4

from django.conf import global_settings
from django.test import override_settings

from lots.ledger.audit import audit
from lots.models import RECORDS, Lot
from lots.models.lot import COUNTS
from nursery.models import Person
from tests import factories
from tests.factories import PASSWORD
from tests.nursery import own_book

BASE = Path(__file__).parents[2]
OPENED = "On this machine: "


class Book:
    """A data folder, with the database of an empty book in it or elsewhere."""

    def __init__(self, blocker, folder: Path, database_url: str) -> None:
        self.folder, self.blocker, self.database_url = folder, blocker, database_url
        self.environment = {
            name: value
            for name, value in os.environ.items()
            if not name.startswith(("NURSERY_", "DJANGO_", "DATABASE_"))
        } | {
            "NURSERY_DATA_DIR": str(folder),
            "DATABASE_URL": database_url,
            "DJANGO_SETTINGS_MODULE": "nursery.settings",
        }

    def run(self, *words: str) -> str:
        """What a process on the book says."""
        done = subprocess.run(
            [sys.executable, *words],
            cwd=BASE,
            env=self.environment,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    @contextmanager
    def opened(self) -> Iterator[None]:
        """The book is the one that this process asks and writes, beside its server."""
        with self.blocker.unblock(), own_book.using_url(self.database_url):
            yield

    def seed(self, lots: int, units: int) -> dict:
        """A flat of fresh lots; and their grower, if nobody is there yet."""
        # The server's hashers, not the tests' cheap one: the grower signs in there.
        hashers = {"PASSWORD_HASHERS": global_settings.PASSWORD_HASHERS}
        with self.opened(), override_settings(**hashers):
            before = len(self._stored())
            grower = Person.objects.filter(username="grower").first()
            by = grower or factories.person(username="grower")
            bench = factories.place(name=f"1-{before}")
            shared = {
                "variety": factories.variety(),
                "method": factories.method(),
                "session": factories.session(),
                "flat": factories.flat(code=f"F{before}"),
            }
            made = [
                factories.stuck_lot(units=units, by=by, place=bench, **shared) for _ in range(lots)
            ]
            return {"lots": [lot.code for lot in made], "place": bench.pk, "stored": before}

    def tell(self) -> dict:
        """What stands: the records' numbers, the counts of each lot, and the faults."""
        with self.opened():
            counts = Lot.objects.values("code", *COUNTS)
            return {
                "stored": self._stored(),
                "lots": {row.pop("code"): row for row in counts},
                "faults": [fault.says for fault in audit().faults],
            }

    def _stored(self) -> list[str]:
        return [
            str(uuid) for model in RECORDS.values() for (uuid,) in model.objects.values_list("uuid")
        ]

    @contextmanager
    def served(self) -> Iterator["Server"]:
        """The book's server; it is killed without a word at the end."""
        with (
            (self.folder.parent / f"{self.folder.name}.log").open("a+") as log,
            subprocess.Popen(
                [sys.executable, "manage.py", "serve", "--host=127.0.0.1", "--port=0"],
                cwd=BASE,
                env=self.environment,
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
            ) as process,
        ):
            try:
                line = process.stdout.readline().strip()
                assert line.startswith(OPENED), f"the server did not open: {line}"
                yield Server(urlsplit(line.removeprefix(OPENED)).netloc, process)
            finally:
                process.kill()


class Server:
    def __init__(self, address: str, process: subprocess.Popen) -> None:
        self.address = address
        self.process = process

    def sign_in(self) -> dict[str, str]:
        """The cookies of a grower who signed in by the form."""
        with Phone(self) as phone:
            phone.ask("GET", "/sign-in/")
            status, _page = phone.form("/sign-in/", username="grower", password=PASSWORD)
            assert status == 302
            return phone.cookies


class Phone:
    """One connection with its cookies; phones of one person share the cookies of a sign-in."""

    def __init__(self, server: Server, cookies: dict[str, str] | None = None) -> None:
        self.connection = HTTPConnection(server.address, timeout=60)
        self.cookies = dict(cookies or {})

    def __enter__(self) -> "Phone":
        return self

    def __exit__(self, *_fault: object) -> None:
        self.connection.close()

    def ask(self, method: str, path: str, body: str = "", **headers: str) -> tuple[int, str]:
        """Status and body. Raises OSError or HTTPException when the server has gone."""
        headers |= {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        for line in answer.headers.get_all("Set-Cookie", []):
            self.cookies |= {name: bit.value for name, bit in SimpleCookie(line).items()}
        return answer.status, answer.read().decode()

    def form(self, path: str, **fields: object) -> tuple[int, str]:
        fields["csrfmiddlewaretoken"] = self.cookies["csrftoken"]
        kind = "application/x-www-form-urlencoded"
        return self.ask("POST", path, urlencode(fields), **{"Content-Type": kind})

    def sync(self, *records: dict) -> tuple[int, dict]:
        kind, token = "application/json", self.cookies["csrftoken"]
        body = json.dumps({"records": records})
        status, text = self.ask(
            "POST", "/sync/", body, **{"Content-Type": kind, "X-CSRFToken": token}
        )
        return status, json.loads(text)


def loss(lot: str, units: int = 1) -> dict:
    """A loss as a phone sends it, an hour old."""
    seen = datetime.now(UTC) - timedelta(hours=1)
    return {"uuid": str(uuid4()), "kind": "loss", "lot": lot, "observed_at": seen.isoformat(),
            "stage": "cell", "units": units, "reason": "rot"}  # fmt: skip
