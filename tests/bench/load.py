"""Thirty phones at once, against the real server over HTTP.

    uv run python -m tests.bench.load [LOTS]

Makes a demo nursery, by default of 50,000 lots, and prints: the page of the address that a tag
carries, the form of a strike check and its save by phones that think for 5 s in between; the same
flat out; saves alone; and `/sync/` in batches of 100. Each figure stands beside a reference of the
same run: how often the sign-in page, which asks nothing of the book, is answered flat out. With
DATABASE_URL set it is on that database, which has to be empty.

The phones run on the same machine and take a part of its processors.
"""

import os
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from http.client import HTTPException
from pathlib import Path
from uuid import uuid4

ROOT = Path(__file__).resolve().parents[2]
PHONES, THINK = 30, 5.0  # seconds
SECONDS = 20
BATCH = 100
SENT = f"{BATCH} records sent"
PASSWORD = "load-peat-load"

type Doing = Callable[[object, "Tally"], None]


class Tally:
    """How long each answer took, by what was asked, and what was no answer."""

    def __init__(self) -> None:
        self.took: dict[str, list[float]] = {}
        self.wrong: list[object] = []
        self.lock = threading.Lock()

    def time(self, what: str, right: int, ask: Callable[[], tuple[int, object]]) -> None:
        begun = time.perf_counter()
        status: object = None
        with suppress(OSError, HTTPException):
            status, _answer = ask()
        took = time.perf_counter() - begun
        with self.lock:
            if status == right:
                self.took.setdefault(what, []).append(took)
            else:
                self.wrong.append((what, status))

    def rate(self, what: str) -> float:
        """How many a second."""
        return len(self.took.get(what, [])) / SECONDS

    def say(self, heading: str, reference: float) -> None:
        print(f"\n{heading}")
        for what, took in self.took.items():
            each = sorted(took)
            p95 = each[int(0.95 * (len(each) - 1))] * 1000
            print(
                f"  {what:<20}{self.rate(what):8.1f} a second "
                f"({self.rate(what) / reference:5.2f} of the reference), "
                f"median {statistics.median(each) * 1000:6.0f} ms, p95 {p95:6.0f} ms"
            )
        if self.wrong:
            print(f"  NOT as it should be: {len(self.wrong)}, like {self.wrong[:3]}")


def together(open_phone: Callable, doing: Doing, *, think: float = 0.0) -> Tally:
    """What all the phones do again and again until the time is over."""
    tally, until = Tally(), time.monotonic() + SECONDS

    def run() -> None:
        time.sleep(random.uniform(0, think))
        with open_phone() as phone:
            while time.monotonic() < until:
                doing(phone, tally)
                time.sleep(think)

    threads = [threading.Thread(target=run) for _n in range(PHONES)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return tally


def measure(open_stranger: Callable, open_phone: Callable, lots: list[str]) -> int:
    """Print it all; how many records were acknowledged."""

    def nothing(phone, tally: Tally) -> None:
        tally.time("sign-in page", 200, partial(phone.ask, "GET", "/sign-in/"))

    def save(phone, tally: Tally, lot: str = "") -> None:
        path = f"/lots/{lot or random.choice(lots)}/check/"
        given = {"uuid": uuid4(), "looked_at": 3, "rooted": 2}
        tally.time("a check saved", 302, partial(phone.form, path, **given))

    def look(phone, tally: Tally) -> None:
        lot = random.choice(lots)
        tally.time("scan: the lot's page", 200, partial(phone.ask, "GET", f"/lots/{lot}/"))
        tally.time("the form", 200, partial(phone.ask, "GET", f"/lots/{lot}/check/"))
        save(phone, tally, lot)

    def send(phone, tally: Tally) -> None:
        records = [check_of(random.choice(lots)) for _n in range(BATCH)]
        tally.time(SENT, 200, partial(phone.sync, *records))

    asked = together(open_stranger, nothing)
    reference = asked.rate("sign-in page")
    asked.say("Reference, flat out", reference)
    thinking = together(open_phone, look, think=THINK)
    thinking.say(f"{PHONES} phones that think for {THINK:g} s", reference)
    hurrying = together(open_phone, look)
    hurrying.say(f"{PHONES} phones flat out", reference)
    saving = together(open_phone, save)
    saving.say(f"{PHONES} phones that only save, flat out", reference)
    sending = together(open_phone, send)
    sending.say("/sync/, flat out", reference)
    print(f"  {BATCH * sending.rate(SENT):.0f} records a second")
    saved = sum(len(one.took.get("a check saved", [])) for one in (thinking, hurrying, saving))
    return saved + BATCH * len(sending.took.get(SENT, []))


def check_of(lot: str) -> dict:
    """A strike check as a phone sends it."""
    at = datetime.now(UTC).isoformat()
    return {"uuid": str(uuid4()), "kind": "check", "lot": lot, "observed_at": at,
            "looked_at": 3, "rooted": 2}  # fmt: skip


def memory(process: subprocess.Popen) -> float:
    """Megabytes that a process holds now (Linux)."""
    pages = int(Path(f"/proc/{process.pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1_000_000


def main() -> None:
    number = sys.argv[1] if len(sys.argv) > 1 else "50000"
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"NURSERY_DATA_DIR": folder, "DJANGO_SETTINGS_MODULE": "nursery.settings"}
        manage = [sys.executable, "manage.py"]
        make = [*manage, "demo", "--no-serve", "--lots", number, "--password", PASSWORD]
        subprocess.run(make, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
        import django

        django.setup()
        from lots.models import Lot, StrikeCheck
        from tests.attack.site import OPENED, Phone, Server

        standing = Lot.objects.filter(stage="stuck", cells__gte=10).order_by("?")[:2000]
        lots = list(standing.values_list("code", flat=True))
        before = StrikeCheck.objects.count()
        serve = [*manage, "serve", "--host=127.0.0.1", "--port=0"]
        with subprocess.Popen(serve, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
            address = process.stdout.readline().strip().removeprefix(OPENED)
            server = Server(address.split("/")[2], process)
            with Phone(server) as phone:
                phone.ask("GET", "/sign-in/")
                phone.form("/sign-in/", username="grower", password=PASSWORD)
                cookies = phone.cookies
            print(f"{number} lots, {len(lots)} of them walked")
            open_stranger, open_phone = partial(Phone, server), partial(Phone, server, cookies)
            acknowledged = measure(open_stranger, open_phone, lots)
            print(f"\nThe server holds {memory(process):.0f} MB.")
            process.terminate()
        stored = StrikeCheck.objects.count() - before
        print(f"Acknowledged {acknowledged}, stored {stored}.")
        assert stored >= acknowledged


if __name__ == "__main__":
    main()
