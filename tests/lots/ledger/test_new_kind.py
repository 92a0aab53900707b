"""A kind of record that is declared once is found everywhere; `tests.feeding` declares one."""

import os
import subprocess
import sys


def test_a_kind_declared_once_is_found_everywhere(migrated, tmp_path):
    book = tmp_path / "book.sqlite3"
    book.write_bytes((migrated / "book.sqlite3").read_bytes())
    done = subprocess.run(
        [sys.executable, "-m", "django", "find"],
        env=os.environ
        | {"DATABASE_URL": f"sqlite:///{book}", "DJANGO_SETTINGS_MODULE": "tests.feeding.settings"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
