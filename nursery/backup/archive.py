"""The file of a backup: a zip of `manifest.json`, the database and the photos.

The secret key of the site is not in it: after a restore elsewhere everybody signs in again.
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

from django.utils.translation import gettext as _

FORMAT = 1
MANIFEST = "manifest.json"
PHOTOS = "photos"
MOST_OF_MANIFEST = 100_000_000  # bytes; a hundred for each of a million photos


class BackupFault(Exception):
    """A backup that can't be made or can't be used; the text says why."""


@dataclass(frozen=True)
class Manifest:
    """What is in a backup.

    `database` is the name of the database's file; `rows` counts by table; `sums` are SHA-256 by
    file. `faults` is what the audit of the copy found, in sentences: a book with a fault is
    saved as well, and known for one.
    """

    format: int
    made_at: str
    database: str
    rows: dict[str, int]
    faults: list[str]
    sums: dict[str, str]


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
    members = {database.name: database}
    members |= {
        f"{PHOTOS}/{photo.relative_to(photos).as_posix()}": photo
        for photo in sorted(photos.rglob("*"))
        if photo.is_file()
    }
    sums = {}
    with path.open("xb") as file:
        os.chmod(path, 0o600)  # it holds all that the nursery knows of its people
        with zipfile.ZipFile(file, "w") as archive:
            for name, member in members.items():
                with member.open("rb") as content:
                    sums[name] = hashlib.file_digest(content, "sha256").hexdigest()
                # Photos are compressed already.
                packed = zipfile.ZIP_STORED if member is not database else zipfile.ZIP_DEFLATED
                archive.write(member, name, packed, compresslevel=6)
            manifest = Manifest(FORMAT, made_at.isoformat(), database.name, rows, faults, sums)
            archive.writestr(MANIFEST, json.dumps(asdict(manifest)), zipfile.ZIP_DEFLATED)
        file.flush()
        os.fsync(file.fileno())
    return manifest


@contextmanager
def _opened(path: Path):
    """The zip file. Raises BackupFault for one that can't be read, whatever is wrong with it."""
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except FileNotFoundError as fault:
        raise BackupFault(_("There is no file %(path)s.") % {"path": path}) from fault
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
        if archive.getinfo(MANIFEST).file_size > MOST_OF_MANIFEST:
            raise BackupFault(_("%(path)s is no backup.") % {"path": path})
        fields = json.loads(archive.read(MANIFEST))
        if fields["format"] != FORMAT:
            raise BackupFault(
                _("%(path)s was written by another version of the program.") % {"path": path}
            )
        return Manifest(**fields)


def check(path: Path) -> Manifest:
    """Read the whole file back and hold each part against its checksum. Raises BackupFault."""
    manifest = manifest_of(path)
    with _opened(path) as archive:
        names = archive.namelist()
        if sorted(names) != sorted([*manifest.sums, MANIFEST]) or not all(map(_is_ours, names)):
            raise BackupFault(_("%(path)s holds other files than it says.") % {"path": path})
        for name, wanted in manifest.sums.items():
            with archive.open(name) as content:
                if hashlib.file_digest(content, "sha256").hexdigest() != wanted:
                    raise BackupFault(
                        _("%(name)s in %(path)s is damaged: its checksum is another one.")
                        % {"name": name, "path": path}
                    )
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
