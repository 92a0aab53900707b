"""Runs tests on a PostgreSQL server of their own: `python -m tests.postgres [pytest's words]`.

Without words, as in CI, it runs ASKED_AGAIN: what PostgreSQL could answer otherwise than SQLite
did. `python -m tests.postgres tests/lots tests/nursery tests/labels` runs all that ask a database.

The server listens on a socket in a folder that is removed afterwards. PostgreSQL refuses to run
as root, so root starts it as the user `postgres` of Debian's package.
"""

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote

WRONG = [
    "number_or_word_that_is_none_breaks_no_page",
    "form_filled_with_what_is_no_choice_breaks_no_page",
    "number_that_no_row_has_is_not_found",
]
FOLDERS = {
    # Locks, at once and in bad order.
    "tests/attack": "refits sequences threads",
    # What the database itself refuses or keeps.
    "tests/lots/models": "constraints sameness triggers",
    "tests/lots/ledger": "audit corrections finding inbox inbox_faults ledger sent_twice voiding",
    "tests/lots/outlook": "forecast_faults refit",
    # Words in any capitals and any script, numbers and days that are too large.
    "tests/lots": "far_off_days huge_numbers",
    "tests/lots/catalogue": "places varieties",
    "tests/lots/sticking": "sessions",
    "tests/lots/stockplants": "plants",
    # Sums and orders that the database makes.
    "tests/lots/supply": "availability",
    "tests/lots/worklists": "worklists",
    # The whole book out and in, in SQL of its own.
    "tests/lots/csvbook": "and_the_book commands round_trip",
    "tests/nursery": "backup not_saved recount restore snapshot time_zone upkeep",
    "tests/labels": "removing",
}
ASKED_AGAIN = [
    *(f"{folder}/test_{name}.py" for folder, names in FOLDERS.items() for name in names.split()),
    *(f"tests/nursery/test_every_address.py::test_a_{what}" for what in WRONG),
    "tests/lots/supply/test_plan_pages.py::test_it_is_behind_when_what_it_hangs_on_changes",
]
AS_ROOT = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
# A test's data is worth nothing after a crash.
QUICK = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=200"


def programs() -> Path:
    """The folder of the newest server that is installed."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[4])
    )
    if not found:
        sys.exit("There is no PostgreSQL server; .ci/setup tests installs one.")
    return found[-1].parent


@contextmanager
def server() -> Iterator[str]:
    """A running server; yields the DATABASE_URL of an empty database on it."""
    with tempfile.TemporaryDirectory(prefix="pg-") as folder:
        if AS_ROOT:
            subprocess.run(["chown", "postgres", folder], check=True)
        data, log = f"{folder}/data", f"{folder}/log"

        def run(program: str, *words: str) -> None:
            subprocess.run(
                [*AS_ROOT, str(programs() / program), *words],
                cwd=folder,
                check=True,
                stdout=subprocess.DEVNULL,
            )

        run("initdb", f"--pgdata={data}", "--username=book", "--auth=trust", "--no-sync",
            "--encoding=UTF8", "--locale=C.UTF-8")  # fmt: skip
        options = f"-c listen_addresses='' -c unix_socket_directories={folder} {QUICK}"
        run("pg_ctl", f"--pgdata={data}", f"--log={log}", f"--options={options}", "-w", "start")
        try:
            run("createdb", f"--host={folder}", "--username=book", "book")
            yield f"postgres://book@{quote(folder, safe='')}/book"
        finally:
            run("pg_ctl", f"--pgdata={data}", "-m", "immediate", "-w", "stop")


def main() -> int:
    with server() as url:
        env = os.environ | {"DATABASE_URL": url}
        words = sys.argv[1:] or ["-q", "-n", "auto", *ASKED_AGAIN]
        tests = [sys.executable, "-m", "pytest", *words]
        return subprocess.run(tests, env=env, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
