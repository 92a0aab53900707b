"""Runs the tests on a PostgreSQL server of their own: `python -m tests.postgres [pytest's words]`.

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
        tests = [sys.executable, "-m", "pytest", *sys.argv[1:]]
        return subprocess.run(tests, env=env, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
