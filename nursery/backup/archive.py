"""The file of a backup: a zip of `manifest.json`, the database and the photos; or, in place of
them, `photos.json`, which names those that lie in the store beside it (see `store`).

Its last 64 bytes, which are the zip's comment, are the SHA-256 of all bytes before them. The
secret key of the site is not in it, nor who is signed in: after a restore everybody signs in again.
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

from django.utils import timezone
from django.utils.translation import gettext as _

from lots import formats
from nursery.backup.store import StoredPhoto

# What brings the manifest of an older format forward (see `lots.formats`).
STEPS: tuple[formats.Step, ...] = (lambda fields: fields | {"format": 2, "beside": False},)
FORMAT = len(STEPS) + 1
MANIFEST = "manifest.json"
PHOTOS = "photos"
BESIDE = "photos.json"
SUM = 64  # hexadecimal digits of a SHA-256
PIECE = 1 << 20  # bytes read at once
MOST_NAMED = 200_000_000  # bytes of the manifest, and of the names of photos: 1,000,000 photos


class BackupFault(Exception):
    """A backup that can't be made or can't be used; the text says why."""


@dataclass(frozen=True)
class Manifest:
    """What is in a backup.

    `database` is the name of the database's file; `rows` counts by table; `photos` counts files,
    which lie in the store `beside` it, or in it.
    `faults` is what the audit of the copy found, in sentences: a book with a fault is saved as
    well, and known for one.
    """

    format: int
    made_at: str
    database: str
    rows: dict[str, int]
    faults: list[str]
    photos: int
    beside: bool


@dataclass(frozen=True)
class Backup:
    """A backup that was read back after it was written."""

    path: Path
    manifest: Manifest

    @property
    def made_at(self) -> datetime:
        return datetime.fromisoformat(self.manifest.made_at)

    @property
    def is_ahead(self) -> bool:
        """Whether it is dated later than now: a clock was wrong then or is now."""
        return self.made_at > timezone.now()

    @property
    def size(self) -> int:
        return self.path.stat().st_size


def write(
    path: Path,
    database: Path,
    photos: Path | list[StoredPhoto],
    *,
    made_at: datetime,
    rows: dict[str, int],
    faults: list[str],
) -> Manifest:
    """Write a backup and have it on the disk, with all photos below a folder in it, or naming
    those that lie in the store beside it."""
    inside: list[tuple[Path, str]] = []
    beside: list[StoredPhoto] = []
    if isinstance(photos, Path):
        files = [file for file in sorted(photos.rglob("*")) if file.is_file()]
        inside = [(file, f"{PHOTOS}/{file.relative_to(photos).as_posix()}") for file in files]
    else:
        beside = photos
    manifest = Manifest(
        format=FORMAT,
        made_at=made_at.isoformat(),
        database=database.name,
        rows=rows,
        faults=faults,
        photos=len(inside) + len(beside),
        beside=not isinstance(photos, Path),
    )
    with path.open("x+b") as file:
        os.chmod(path, 0o600)  # it holds all that the nursery knows of its people
        with zipfile.ZipFile(file, "w") as archive:
            archive.writestr(MANIFEST, json.dumps(asdict(manifest)), zipfile.ZIP_DEFLATED)
            if manifest.beside:  # apart: the manifests of all backups are read for a page
                named = json.dumps([asdict(photo) for photo in beside])
                archive.writestr(BESIDE, named, zipfile.ZIP_DEFLATED)
            archive.write(database, database.name, zipfile.ZIP_DEFLATED, compresslevel=6)
            for photo, name in inside:  # compressed already
                archive.write(photo, name)
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
            for name in {MANIFEST, BESIDE} & set(archive.namelist()):
                if archive.getinfo(name).file_size > MOST_NAMED:
                    raise ValueError(name)
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
    """The manifest alone, of this version's format or an older one, which is quick. Raises
    BackupFault."""
    with _opened(path) as archive:
        fields = json.loads(archive.read(MANIFEST))
        try:
            return Manifest(**formats.bring_forward(fields, STEPS))
        except formats.Newer as fault:
            raise BackupFault(
                _(
                    "%(path)s was made by a newer version of the program; install that version "
                    "first."
                )
                % {"path": path}
            ) from fault


def photos_beside(path: Path) -> list[StoredPhoto]:
    """The photos of a backup that are not in it but in the store beside it. Raises
    BackupFault."""
    if not manifest_of(path).beside:
        return []
    with _opened(path) as archive:
        photos = [StoredPhoto(**photo) for photo in json.loads(archive.read(BESIDE))]
    if not all(_is_ours(f"{PHOTOS}/{photo.path}") for photo in photos):
        raise BackupFault(_("%(path)s holds other files than a backup.") % {"path": path})
    return photos


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


def unpacked_size(path: Path) -> int:
    """To how many bytes a backup unpacks, as it says itself; more than that is never written.
    Raises BackupFault."""
    with _opened(path) as archive:
        return sum(entry.file_size for entry in archive.infolist())


def unpack(path: Path, folder: Path) -> None:
    """Unpack a checked backup into a folder, where it is on the disk afterwards."""
    with _opened(path) as archive:
        archive.extractall(folder)
    for file in folder.rglob("*"):
        if file.is_file():
            with file.open("rb") as written:
                os.fsync(written.fileno())
