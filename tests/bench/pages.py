"""The median server time of the pages that phones and Today use, in a small book and a large one.
Processor time, database included: what else the machine does at the time doesn't count.

    uv run python -m tests.bench.pages [SMALL] [LARGE]

Makes two demo nurseries, by default of 1,000 and 50,000 lots, and prints each page's median of
30 requests in both and their ratio, which is to stay under 2.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TIMES = 30


def measure() -> dict[str, float]:
    """Median milliseconds of each page in the book of this process's data folder."""
    import django

    django.setup()
    from django.contrib.auth import get_user_model
    from django.test import Client

    from lots.models import Lot

    lot = Lot.objects.filter(stage="stuck").order_by("code").first()
    client = Client(headers={"host": "localhost"})
    client.force_login(get_user_model().objects.get(username="manager"))
    pages = {
        "lot page": f"/lots/{lot.code}/",
        "check": f"/lots/{lot.code}/check/",
        "today": "/",
        "due": "/due/",
        "round": "/round/",
        "lots": "/lots/",
        "lots by name": "/lots/?sort=name",
        "lots by place": "/lots/?sort=place&stage=",
        "lots filtered": "/lots/?stage=to-pot-up&bench=1&age=31-90",
        "find": "/find/matches/?code=be",
        "find a code": f"/find/matches/?code={lot.code[:3]}",
        "a bench": "/bench/check/?bench=1",
        "a bench to pot up": "/bench/pot-up/?bench=1",
    }
    return {name: _median(client, path) for name, path in pages.items()}


def _median(client, path: str) -> float:
    times = []
    for _ in range(TIMES):
        start = time.process_time()
        answer = client.get(path)
        times.append((time.process_time() - start) * 1000)
        assert answer.status_code == 200, path
    return statistics.median(times)


def _in_book(lots: int, folder: str) -> dict[str, float]:
    environment = os.environ | {
        "NURSERY_DATA_DIR": folder,
        "DJANGO_SETTINGS_MODULE": "nursery.settings",
    }
    make = [sys.executable, "manage.py", "demo", "--no-serve", "--lots", str(lots)]
    start = time.perf_counter()
    subprocess.run(make, cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL)
    print(f"demo of {lots:,} lots made in {time.perf_counter() - start:.1f} s")
    statics = [sys.executable, "manage.py", "collectstatic", "--noinput", "--verbosity", "0"]
    subprocess.run(statics, cwd=ROOT, env=environment, check=True)
    child = [sys.executable, "-m", "tests.bench.pages", "--measure"]
    done = subprocess.run(child, cwd=ROOT, env=environment, check=True, capture_output=True)
    return json.loads(done.stdout)


def main() -> None:
    if "--measure" in sys.argv:
        json.dump(measure(), sys.stdout)
        return
    sizes = [int(word) for word in sys.argv[1:]] or [1000, 50_000]
    books = []
    for lots in sizes:
        with tempfile.TemporaryDirectory() as folder:
            books.append(_in_book(lots, folder))
    print(f"{'page':<10}" + "".join(f"{lots:>10,}" for lots in sizes) + f"{'ratio':>8}")
    for page in books[0]:
        times = [book[page] for book in books]
        cells = "".join(f"{ms:>7.1f} ms" for ms in times)
        print(f"{page:<10}{cells}{times[-1] / times[0]:>8.2f}")


if __name__ == "__main__":
    main()
