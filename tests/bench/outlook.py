"""How long forecasts take: a refit of the whole book, a record with the forecast that follows it,
`forecast --json`, and the methods of the largest crop group compared, in a small book and a large
one.

    uv run python -m tests.bench.outlook [SMALL] [LARGE]

Makes two demo nurseries, by default of 900 and 50,000 lots. Exits with 1 if the forecast adds
15 ms or more to a record in either.
"""

import contextlib
import io
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RECORDS = 60
MOST_MS = 15


def measure() -> dict[str, float]:
    """Seconds of refits and forecasts, milliseconds of a record and of its forecast, in the book
    of this process's data folder."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import transaction
    from django.db.models import Count
    from django.utils import timezone

    from lots import ledger, outlook
    from lots.models import CropGroup, Lot, Method, StrikeCheck

    start = time.perf_counter()
    fitting = outlook.refit().seconds
    took = {"read and fit, s": fitting, "whole refit, s": time.perf_counter() - start}
    start = time.perf_counter()
    with contextlib.redirect_stdout(io.StringIO()):
        call_command("forecast", "--json")
    took["forecast --json, s"] = time.perf_counter() - start
    group = CropGroup.objects.annotate(lots=Count("varieties__lots")).latest("lots")
    used = Method.objects.filter(lots__variety__group=group, lots__stuck_on__isnull=False)
    methods = [(method, 1.0) for method in used.distinct()]
    for what in ("methods compared, s", "the same again, s"):
        start = time.perf_counter()
        outlook.comparing.compared(group, None, methods)
        took[what] = time.perf_counter() - start
    records, forecasts = [], []
    for lot in Lot.objects.filter(stage="stuck").select_related("stuck_by")[:RECORDS]:
        check = StrikeCheck(looked_at=1, rooted=0, by=lot.stuck_by, observed_at=timezone.now())
        start = time.perf_counter()
        ledger.record(lot, [check])
        records.append(time.perf_counter() - start)
        locked = Lot.objects.select_related("variety__group", "method").get(pk=lot.pk)
        with transaction.atomic():
            start = time.perf_counter()
            outlook.renew([locked])
            forecasts.append(time.perf_counter() - start)
    took["a record, ms"] = 1000 * statistics.median(records)
    took["of that its forecast, ms"] = 1000 * statistics.median(forecasts)
    return took


def in_book(lots: int) -> dict[str, float]:
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {
            "NURSERY_DATA_DIR": folder,
            "DJANGO_SETTINGS_MODULE": "nursery.settings",
        }
        start = time.perf_counter()
        make = [sys.executable, "manage.py", "demo", "--no-serve", "--lots", str(lots)]
        subprocess.run(make, cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL)
        made = time.perf_counter() - start
        child = [sys.executable, "-m", "tests.bench.outlook", "--measure"]
        done = subprocess.run(child, cwd=ROOT, env=environment, check=True, capture_output=True)
        return {"demo made and fitted, s": made} | json.loads(done.stdout)


def main() -> None:
    if "--measure" in sys.argv:
        json.dump(measure(), sys.stdout)
        return
    sizes = [int(word) for word in sys.argv[1:]] or [900, 50_000]
    books = [in_book(lots) for lots in sizes]
    print(f"{'lots':<26}" + "".join(f"{lots:>10,}" for lots in sizes))
    for name in books[0]:
        print(f"{name:<26}" + "".join(f"{book[name]:>10.2f}" for book in books))
    if any(book["of that its forecast, ms"] >= MOST_MS for book in books):
        sys.exit(1)


if __name__ == "__main__":
    main()
