"""What this book is and where it lies: of which version, with what of others' in it, how large."""

import platform
import re
import sqlite3
import tomllib
from dataclasses import dataclass
from datetime import datetime
from importlib import metadata
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.db.models import Max

from lots.models import RECORDS, Fit, Lot
from nursery.backup import keeping
from nursery.upkeep import soundness

PROJECT = settings.BASE_DIR / "pyproject.toml"
VENDORED = settings.BASE_DIR / "static/vendor/vendored.toml"


@dataclass(frozen=True)
class Part:
    """Something of others' that the program stands on."""

    name: str
    version: str
    licence: str


@dataclass(frozen=True)
class About:
    """The book and its program; sizes in bytes, None where they can't be told."""

    version: str
    machine: str
    database: str
    folder: Path
    database_size: int | None
    photos: int
    photo_size: int
    backup_size: int
    lots: int
    records: int
    last_backup: datetime | None
    last_check: soundness.Check | None
    last_fit: datetime | None


def read() -> About:
    photos = _sizes(Path(settings.MEDIA_ROOT))
    last = keeping.last_backup()
    return About(
        version=version(),
        machine=f"Python {platform.python_version()}, {platform.system()} {platform.machine()}",
        database=_database(),
        folder=settings.DATA_DIR,
        database_size=_database_size(),
        photos=len(photos),
        photo_size=sum(photos),
        backup_size=sum(_sizes(keeping.folder())),
        lots=Lot.objects.count(),
        records=sum(model._base_manager.count() for model in RECORDS.values()),
        last_backup=last.made_at if last else None,
        last_check=soundness.last(),
        last_fit=Fit.objects.aggregate(made=Max("read_at"))["made"],
    )


def version() -> str:
    """That of the program, as its project file says."""
    return str(_project()["version"])


def parts() -> list[Part]:
    """The packages that the program asks for, and what is vendored, each with its licence."""
    found = []
    for asked in _project()["dependencies"]:
        name = re.match(r"[\w.-]+", asked)[0]
        about = metadata.metadata(name)
        found.append(Part(name, about["Version"], _licence(about)))
    with VENDORED.open("rb") as file:
        vendored = tomllib.load(file).values()
    found += [Part(one["package"], one["version"], one["licence"]) for one in vendored]
    return sorted(found, key=lambda part: part.name.lstrip("@"))


def _licence(about: metadata.PackageMetadata) -> str:
    """As the package says, in one of the three places where it may say so."""
    classified = [
        one.split(" :: ")[-1] for one in about.get_all("Classifier", []) if "License ::" in one
    ]
    written = (about.get("License") or "").splitlines()
    return about.get("License-Expression") or ", ".join(classified or written[:1]) or "?"


def _project() -> dict:
    with PROJECT.open("rb") as file:
        return tomllib.load(file)["project"]


def _database() -> str:
    if connection.vendor == "sqlite":
        return f"SQLite {sqlite3.sqlite_version}"
    connection.ensure_connection()
    number = connection.pg_version  # 170002 is 17.2
    return f"PostgreSQL {number // 10_000}.{number % 10_000}"


def _database_size() -> int | None:
    if connection.vendor == "sqlite":
        file = Path(connection.settings_dict["NAME"])
        return file.stat().st_size if file.exists() else None
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_database_size(current_database())")
        return cursor.fetchone()[0]


def _sizes(folder: Path) -> list[int]:
    return [path.stat().st_size for path in folder.rglob("*") if path.is_file()]
