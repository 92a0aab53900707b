"""The hand-made book with a photo beside it, and what of it can be compared."""

from pathlib import Path

from lots import csvbook
from tests.lots import books


def add_photo(settings, name: str) -> None:
    photo = Path(settings.MEDIA_ROOT, "2026/03", f"{name}.jpg")
    photo.parent.mkdir(parents=True, exist_ok=True)
    photo.write_bytes(name.encode())


def photos(settings) -> set[str]:
    return {path.stem for path in Path(settings.MEDIA_ROOT).rglob("*.jpg")}


def exported(folder: Path) -> dict[str, bytes]:
    csvbook.export(folder)
    return books.read(folder)
