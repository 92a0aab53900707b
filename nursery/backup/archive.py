"""The file of a backup: a zip of `manifest.json`, the database and the photos.

Its last 64 bytes, which are the zip's comment, are the SHA-256 of all bytes before them. The
secret key of the site is not in it: after a restore elsewhere everybody signs in again.
"""

import hashlib
import json
import os
import zipfile
import zlib
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from django.utils.translation import gettext as _

FORMAT = 1
MANIFEST = "manifest.json"
PHOTOS = "photos"
SUM = 64  # hexadecimal digits of a SHA-256
PIECE = 1 << 20  # bytes read at once


class BackupFault(Exception):
    """A backup that can't be made or can't be used; the text says why."""


@dataclass(frozen=True)
class Manifest:
    """What is in a backup.

    `database` is the name of the database's file; `rows` counts by table; `photos` counts files.
    `faults` is what the audit of the copy found, in sentences: a book with a fault is saved as
    well, and known for one.
    """

    format: int
    made_at: str
    database: str
    rows: dict[str, int]
    faults: list[str]
    photos: int


@dataclass(frozen=True)
class Backup:
    """A backup that was read back after it was written."""

    path: Path
    manifest: Manifest

    @property
    def made_at(self) -> datetime:
        return datetime.fromisoformat(self.manifest.made_at)

    @property
    def size(self) -> int:
        return self.path.stat().st_size


def write(
    path: Path,
    database: Path,
    photos: Path,
    *,
    made_at: datetime,
    rows: dict[str, int],
    faults: list[str],
) -> Manifest:
    """Write a backup and have it on the disk."""
    files = [photo for photo in sorted(photos.rglob("*")) if photo.is_file()]
    manifest = Manifest(FORMAT, made_at.isoformat(), database.name, rows, faults, len(files))
    with path.open("x+b") as file:
        os.chmod(path, 0o600)  # it holds all that the nursery knows of its people
        with zipfile.ZipFile(file, "w") as archive:
            archive.writestr(MANIFEST, json.dumps(asdict(manifest)), zipfile.ZIP_DEFLATED)
            archive.write(database, database.name, zipfile.ZIP_DEFLATED, compresslevel=6)
            for photo in files:  # compressed already
                archive.write(photo, f"{PHOTOS}/{photo.relative_to(photos).as_posix()}")
            archive.comment = bytes(SUM)
        digest = _digest(file)
        file.seek(-SUM, os.SEEK_END)
        file.write(digest)
        file.flush()
        os.fsync(file.fileno())
    return manifest


def _digest(file: BinaryIO) -> bytes:
    """The checksum of all but the last 64 bytes."""
    left = max(file.seek(0, os.SEEK_END) - SUM, 0)
    file.seek(0)
    digest = hashlib.sha256()
    while left and (piece := file.read(min(left, PIECE))):
        digest.update(piece)
        left -= len(piece)
    return digest.hexdigest().encode()


@contextmanager
def _opened(path: Path):
    """The zip file. Raises BackupFault for one that can't be read, whatever is wrong with it."""
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        KeyError,
        NotImplementedError,
        RuntimeError,
        TypeError,
        ValueError,
    ) as fault:
        raise BackupFault(
            _("%(path)s is damaged, or no backup at all (%(fault)s).")
            % {"path": path, "fault": fault}
        ) from fault


def manifest_of(path: Path) -> Manifest:
    """The manifest alone, which is quick. Raises BackupFault."""
    with _opened(path) as archive:
        fields = json.loads(archive.read(MANIFEST))
        if fields["format"] != FORMAT:
            raise BackupFault(
                _("%(path)s was written by another version of the program.") % {"path": path}
            )
        return Manifest(**fields)


def check(path: Path) -> Manifest:
    """Read the whole file back and hold it against its checksums. Raises BackupFault."""
    try:
        with path.open("rb") as file:
            digest = _digest(file)
            whole = file.read() == digest
    except FileNotFoundError as fault:
        raise BackupFault(_("There is no file %(path)s.") % {"path": path}) from fault
    if not whole:
        raise BackupFault(
            _("%(path)s is damaged or cut off, or no backup at all: its checksum doesn't fit.")
            % {"path": path}
        )
    manifest = manifest_of(path)
    with _opened(path) as archive:
        names = archive.namelist()
        if archive.testzip() or manifest.database not in names or not all(map(_is_ours, names)):
            raise BackupFault(_("%(path)s holds other files than a backup.") % {"path": path})
    return manifest


def _is_ours(name: str) -> bool:
    """Whether a member may be unpacked: at the top, or below the photos, and nowhere else."""
    parts = PurePosixPath(name).parts
    return ".." not in parts and (len(parts) == 1 or parts[0] == PHOTOS)


def unpack(path: Path, folder: Path) -> None:
    """Unpack a checked backup into a folder, where it is on the disk afterwards."""
    with _opened(path) as archive:
        archive.extractall(folder)
    for file in folder.rglob("*"):
        if file.is_file():
            with file.open("rb") as written:
                os.fsync(written.fileno())
