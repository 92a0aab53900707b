"""The book for years: what the README says of running it, the page about it, its log."""

import os
import re
import shutil
import signal
import subprocess
import sys
from importlib import metadata

import pytest

from lots.models import Lot
from nursery import about
from tests import factories
from tests.nursery.conftest import BASE, environment, manage
from tests.nursery.test_upkeep import serve
from tests.pages import select

README = (BASE / "README.md").read_text()


def test_systemd_has_nothing_against_the_unit(tmp_path):
    [unit] = re.findall(r"```ini\n(.*?)```", README, re.S)
    there = unit.replace("/opt/strikebook/.venv/bin/python", sys.executable)
    there = there.replace("/opt/strikebook", str(BASE)).replace("User=strikebook", "User=daemon")
    file = tmp_path / "strikebook.service"
    file.write_text(there)
    verify = ["systemd-analyze", "verify", "--man=no", "--recursive-errors=no", str(file)]
    done = subprocess.run(verify, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    file.write_text(there.replace("ProtectSystem=strict", "ProtectSystem=sometimes"))
    done = subprocess.run(verify, capture_output=True, text=True, check=False)
    assert "sometimes" in done.stderr


@pytest.mark.parametrize(("address", "left"), [("https://book.example.org", 0), ("", 1)])
def test_what_is_left_to_be_secured_is_nothing_by_https(folder, address, left):
    check = [sys.executable, "manage.py", "check", "--deploy", "--fail-level=WARNING"]
    done = subprocess.run(
        check,
        cwd=BASE,
        env=environment(folder) | {"NURSERY_ADDRESS": address},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == left
    assert ("SESSION_COOKIE_SECURE" in done.stderr) == bool(left)


def test_what_the_terminal_says_is_in_the_log(folder):
    with serve(folder) as server:
        pass
    log = folder / "log/strikebook.log"
    assert log.stat().st_mode & 0o077 == 0
    assert log.parent.stat().st_mode & 0o077 == 0
    for line in log.read_text().splitlines():
        assert line in server.err


@pytest.mark.parametrize(
    ("path", "status"), [("/nowhere/%0aforged", 404), ("/people/", 403), ("/lots/7K3QF2/", 404)]
)
@pytest.mark.django_db
def test_who_asks_for_what_is_not_theirs_is_in_one_line_of_the_log(
    client, grower, caplog, path, status
):
    assert client.get(path).status_code == status
    [line] = [record.getMessage() for record in caplog.records if record.name == "django.request"]
    assert "\n" not in line
    assert path.split("%")[0].rstrip("/") in line


def test_the_page_tells_what_the_book_is(client, boss, settings, tmp_path):
    settings.DATA_DIR, settings.MEDIA_ROOT = tmp_path, tmp_path / "photos"
    settings.MEDIA_ROOT.mkdir()
    (tmp_path / "photos/leaf.jpg").write_bytes(b"x" * 2048)
    factories.stuck_lot()
    says = " ".join(select(client.get("/about/"), "main"))
    assert Lot.objects.count() == 1
    for words in (f"Strikebook {about.version()}", "1 lot,", "1 · 2.0", str(tmp_path), "never"):
        assert words in says.replace("\xa0", " "), words


def test_every_part_is_named_with_its_licence():
    parts = {part.name: part for part in about.parts()}
    assert {"django", "granian", "htmx.org"} <= parts.keys()
    assert parts["django"].version == metadata.version("django")
    assert [part for part in parts.values() if not 3 <= len(part.licence) < 90] == []


@pytest.mark.django_db
def test_growers_do_not_see_where_it_lies(client, grower):
    assert client.get("/about/").status_code == 403


def git(folder, *words: str) -> None:
    who = ["-c", "user.name=x", "-c", "user.email=x@example.org"]
    subprocess.run(["git", *who, *words], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def installed(tmp_path, folder):
    """A program that was cloned, with what it needs, and where it came from."""
    source, here = tmp_path / "source", tmp_path / "here"
    shutil.copytree(
        BASE,
        source,
        ignore=shutil.ignore_patterns(".*", "data", "tests", "__pycache__"),
    )
    shutil.copytree(BASE / ".ci", source / ".ci")
    (source / ".gitignore").write_text((BASE / ".gitignore").read_text())
    git(source, "init", "-q", "-b", "main")
    git(source, "add", "-A")
    git(source, "commit", "-qm", "before")
    git(tmp_path, "clone", "-q", str(source), str(here))
    for mine in (".venv", ".tools"):
        (here / mine).symlink_to(BASE / mine)
    # What it needs is there; to fetch it anew is the setup's own affair.
    (here / ".ci/setup").write_text("#!/bin/sh\n")
    git(here, "update-index", "--assume-unchanged", ".ci/setup")
    return source, here


def upgrade(here, folder) -> subprocess.CompletedProcess:
    return subprocess.run(
        [".ci/upgrade"],
        cwd=here,
        env=environment(folder) | {"UV_NO_SYNC": "1", "PATH": os.environ["PATH"]},
        capture_output=True,
        text=True,
        check=False,
    )


def test_one_command_backs_up_and_brings_the_newest_program(installed, folder):
    source, here = installed
    (source / "NEWS").write_text("newer")
    git(source, "add", "-A")
    git(source, "commit", "-qm", "newer")
    done = upgrade(here, folder)
    assert done.returncode == 0, done.stderr
    assert (here / "NEWS").exists()
    assert len([*(folder / "backups").glob("*.zip")]) == 1
    assert "Start the server anew" in done.stdout
    (here / "README.md").write_text("changed here")
    refused = upgrade(here, folder)
    assert refused.returncode == 1
    assert "Nothing was done" in refused.stderr
    assert manage(folder, "audit").returncode == 0


def test_a_kill_leaves_no_lock_behind(folder):
    for how in (signal.SIGKILL, signal.SIGTERM):
        with serve(folder, how) as server:
            assert server.poll() is None
