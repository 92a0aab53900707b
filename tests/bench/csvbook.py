"""How long a large book takes to come in, to be proved and to go out.

    python -m tests.bench.csvbook [LOTS]

Each lot has ten records. The book is made in a data folder of its own, which is removed.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from lots import codes  # noqa: E402
from tests.lots import books  # noqa: E402

FIRST = date(2015, 1, 5)


def lot_codes(count: int) -> list[str]:
    """Lot codes counted upwards, so that the same book is made each time."""
    found: list[str] = []
    number = 0
    while len(found) < count:
        digits, rest = "", number
        for _place in range(codes.LENGTH - 1):
            rest, digit = divmod(rest, 32)
            digits = codes.CROCKFORD[digit] + digits
        number += 1
        if (check := codes.check_character(digits)) in codes.CROCKFORD:
            found.append(digits + check)
    return found


def make(folder: Path, count: int) -> None:
    """Write a book of so many lots as CSV files."""
    tables = {
        name: books.BOOK[name][:1] if name in ("lots", "cuts", "targets") else lines
        for name, lines in books.BOOK.items()
    }
    for name in ("checks", "losses", "moves", "potups", "finishes", "leaves"):
        header = [column for column in books.BOOK[name][0].split(",") if column != "uuid"]
        tables[name] = [",".join(header)]
    tables["stockplants"] = tables["stockplants"][:2]
    for number, code in enumerate(lot_codes(count)):
        day = FIRST + timedelta(days=number * 3650 // count)
        at = [f"{code},{day + timedelta(days=days)}T10:00:00+00:00,ana" for days in range(0, 99, 9)]
        tables["lots"].append(f"{code},,V1,leaf wedge,48,1,,,,,A1,{day},48,ana,")
        tables["cuts"].append(f"{code},P1,48,1,yes")
        tables["checks"] += [f"{at[n]},20,{2 * n},,no,," for n in range(1, 4)]
        tables["losses"] += [f"{at[4]},cell,2,rot,,", f"{at[5]},cell,6,dried out,,"]
        tables["moves"].append(f"{at[6]},@B2,")
        tables["potups"].append(f"{at[7]},40,40,7 cm,")
        tables["finishes"].append(f"{at[8]},30,,")
        tables["leaves"] += [f"{at[9]},20,finished,sold,,", f"{at[10]},5,growing,culled,,"]
    books.write(folder, **tables)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    with tempfile.TemporaryDirectory() as scratch:
        env = os.environ | {
            "NURSERY_DATA_DIR": scratch,
            "DJANGO_SETTINGS_MODULE": "nursery.settings",
        }
        make(Path(scratch, "csv"), count)
        before = 0.0
        for command in (
            ["migrate", "-v0"],
            ["importcsv", f"{scratch}/csv"],
            ["audit", "--json"],
            ["exportcsv", f"{scratch}/out"],
            ["importcsv", f"{scratch}/out"],
            ["backup"],
            ["backup"],
        ):
            start = time.perf_counter()
            subprocess.run([sys.executable, "manage.py", *command], env=env, check=True)
            took = time.perf_counter() - start
            used = resource.getrusage(resource.RUSAGE_CHILDREN)
            print(
                f"{command[0]}: {took:.1f} s, of which {used.ru_utime - before:.1f} s at work; "
                f"largest process so far {used.ru_maxrss // 1024} MB",
                flush=True,
            )
            before = used.ru_utime


if __name__ == "__main__":
    main()
