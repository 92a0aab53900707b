"""The photos of all daily backups, each once: files named by the SHA-256 of what is in them.

A file of the store is never written to: it gets its name when it is whole and on the disk, and
one that is found damaged has another put in its place. A backup names its photos by path and
digest.
"""

import hashlib
import os
import shutil
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation import ngettext

NAME = "photos"


@dataclass(frozen=True)
class StoredPhoto:
    """A photo of a backup: its path below the folder of photos, bytes, and SHA-256 in
    hexadecimal digits."""

    path: str
    size: int
    sha256: str


def place(store: Path, sha256: str) -> Path:
    # Sticks and disks of other systems hold few files of long names in one folder.
    return store / sha256[:2] / sha256


def put(photos: Path, store: Path, scratch: Path) -> list[StoredPhoto]:
    """Have all files below a folder in the store, on the disk. `scratch` is a folder on the same
    disk. A file that goes while it is looked at is none."""
    stored, changed = [], {store, store.parent}
    for path in sorted(photos.rglob("*")):
        with suppress(FileNotFoundError):
            if not path.is_file():
                continue
            photo = StoredPhoto(path.relative_to(photos).as_posix(), *_measured(path))
            if not is_sound(photo, store):
                photo = _copy(path, photo.path, store, scratch)
                changed.add(place(store, photo.sha256).parent)
            stored.append(photo)
    for folder in changed:
        if folder.exists():
            sync(folder)
    return stored


def _measured(path: Path) -> tuple[int, str]:
    """Bytes, and their SHA-256."""
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
        return file.tell(), digest


def _copy(path: Path, name: str, store: Path, scratch: Path) -> StoredPhoto:
    unfinished = scratch / "photo"
    shutil.copyfile(path, unfinished)
    _flush(unfinished)
    photo = StoredPhoto(name, *_measured(unfinished))
    file = place(store, photo.sha256)
    for folder in (store, file.parent):
        folder.mkdir(mode=0o700, exist_ok=True)
    unfinished.chmod(0o600)
    unfinished.replace(file)
    return photo


def is_sound(photo: StoredPhoto, store: Path) -> bool:
    """Whether the store has all of a photo, as it was."""
    try:
        return _measured(place(store, photo.sha256)) == (photo.size, photo.sha256)
    except OSError:
        return False


def lacking(photos: Iterable[StoredPhoto], store: Path) -> list[StoredPhoto]:
    """Those of the photos that are missing in the store, or damaged."""
    return [photo for photo in photos if not is_sound(photo, store)]


def say_lacking(lacking: list[StoredPhoto], store: Path) -> str:
    """In a sentence, which photos are not in the store."""
    return ngettext(
        "The photo %(first)s of this backup is missing or damaged in %(store)s.",
        "%(number)s photos of this backup are missing or damaged in %(store)s, the first of them "
        "%(first)s.",
        len(lacking),
    ) % {"first": lacking[0].path, "number": len(lacking), "store": store}


def take_out(photos: Iterable[StoredPhoto], store: Path, folder: Path) -> None:
    """Copy photos of the store to their paths below a folder, where they are on the disk."""
    for photo in photos:
        path = folder / photo.path
        path.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(place(store, photo.sha256), path)
        _flush(path)


def clear(store: Path, named: set[str]) -> int:
    """Remove what no backup names; how many that were."""
    gone = [file for file in store.glob("*/*") if file.name not in named]
    for file in gone:
        file.unlink()
    return len(gone)


def sizes(store: Path) -> list[int]:
    """The bytes of each photo in the store."""
    found = []
    for file in store.glob("*/*"):
        with suppress(FileNotFoundError):  # cleared away meanwhile
            found.append(file.stat().st_size)
    return found


def _flush(path: Path) -> None:
    with path.open("rb") as written:
        os.fsync(written.fileno())


def sync(folder: Path) -> None:
    """Have a folder's names on the disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
