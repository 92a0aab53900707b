"""Files brought in from a page: kept in a folder of their own, checked, and imported when the
manager says so. Checking and importing run in a thread; how far they are is written down beside
the files, so that the page can be left and found again."""

import json
import logging
import secrets
import shutil
import threading
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from pathlib import Path

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.db import connections
from django.utils.translation import gettext as _

from lots import csvbook

logger = logging.getLogger(__name__)
KEEP = 10  # the newest imports whose files are kept
TELL_EVERY = 0.5  # seconds
FAULTS_SHOWN = 200

# In this process: a job that runs elsewhere, or ran before a restart, is not among them.
running: set[str] = set()


@dataclass
class Job:
    """An import as its page shows it. `state` is checking, ready, faulty, importing, done or
    broken; `names` are those of the files as they were sent, in order; `faults` are as (file,
    row, column, sentence)."""

    number: str
    state: str
    names: list[str] = field(default_factory=list)
    doing: str = ""
    done: int = 0
    of: int | None = None
    added: dict[str, int] = field(default_factory=dict)
    already: dict[str, int] = field(default_factory=dict)
    faults: list[tuple[str, int | None, str | None, str]] = field(default_factory=list)
    faults_count: int = 0

    @property
    def is_running(self) -> bool:
        return self.state in ("checking", "importing")


def start(files: Iterable[UploadedFile]) -> Job:
    """Keep the files of an upload and begin to check them."""
    where = settings.DATA_DIR / "imports"
    where.mkdir(exist_ok=True)
    for old in sorted(where.iterdir(), key=lambda path: path.stat().st_mtime)[: -KEEP + 1]:
        if old.name not in running:
            shutil.rmtree(old, ignore_errors=True)
    number = secrets.token_hex(8)
    folder = _folder(number)
    folder.mkdir(mode=0o700)
    names = []
    for upload in files:
        with _kept(folder, len(names)).open("wb") as file:
            for chunk in upload.chunks():
                file.write(chunk)
        names.append(upload.name)
    return _begin(Job(number, "checking", names))


def commit(job: Job) -> Job:
    """Import the files of a job that was checked and is without fault."""
    return _begin(Job(job.number, "importing", job.names))


def find(number: str) -> Job | None:
    """The job of a number, as it stands; None if its files are kept no longer."""
    try:
        told = json.loads((_folder(number) / "job.json").read_text())
    except (OSError, ValueError):
        return None
    job = Job(**told)
    if job.is_running and number not in running:
        job.state, job.doing = "broken", _("The server was stopped meanwhile.")
    return job


def _begin(job: Job) -> Job:
    running.add(job.number)
    _tell(job)
    threading.Thread(target=_work, args=[job], name=f"import {job.number}").start()
    return job


def _work(job: Job) -> None:
    last = 0.0

    def progress(doing: str, done: int, of: int | None) -> None:
        nonlocal last
        job.doing, job.done, job.of = doing, done, of
        if time.monotonic() - last > TELL_EVERY:
            last = time.monotonic()
            _tell(job)

    dry_run = job.state == "checking"
    try:
        folder = _folder(job.number)
        files = [(name, _kept(folder, place)) for place, name in enumerate(job.names)]
        report = csvbook.import_files(files, dry_run=dry_run, progress=progress)
        job.added, job.already = report.added, report.already
        job.faults_count = report.faults_count
        job.faults = [
            (fault.file, fault.row, fault.column, fault.says)
            for fault in report.faults[:FAULTS_SHOWN]
        ]
        job.state = ("ready" if dry_run else "done") if report.good else "faulty"
    except Exception as fault:
        logger.exception("An import broke off")
        job.state, job.doing = "broken", str(fault)
    finally:
        connections.close_all()
        _tell(job)
        running.discard(job.number)


def _tell(job: Job) -> None:
    path = _folder(job.number) / "job.json"
    draft = path.with_name("job.json.new")
    draft.write_text(json.dumps(asdict(job)))
    draft.replace(path)


def _kept(folder: Path, place: int) -> Path:
    """Where a sent file is kept: under its place, since its name may be anything."""
    return folder / f"{place}.sent"


def _folder(number: str) -> Path:
    return settings.DATA_DIR / "imports" / number
