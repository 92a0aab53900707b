"""What a backup says of itself: an older version's is read, a newer one's is told."""

import json
import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from nursery.backup import Backup, BackupFault, archive

FROZEN = Path(__file__).parent / "frozen" / "manifest-1.json"


def holding(path, manifest):
    with zipfile.ZipFile(path, "w") as made:
        made.writestr(archive.MANIFEST, json.dumps(manifest))
    return path


def test_the_first_format_is_still_read(tmp_path):
    path = holding(tmp_path / "book.zip", json.loads(FROZEN.read_text()))
    found = Backup(path, archive.manifest_of(path))
    assert found.made_at == datetime.fromisoformat("2026-11-25T18:30:00+01:00")
    assert (found.manifest.format, found.manifest.photos) == (archive.FORMAT, 3)
    assert found.manifest.rows == {"lots_lot": 4, "lots_move": 2}
    assert found.manifest.database == "book.sqlite3"
    assert [fault[:7] for fault in found.manifest.faults] == ["7K3-QFY"]


def test_one_of_a_newer_version_is_told(tmp_path):
    path = holding(tmp_path / "book.zip", json.loads(FROZEN.read_text()) | {"format": 99})
    with pytest.raises(BackupFault, match="made by a newer version of the program; install"):
        archive.manifest_of(path)


@pytest.mark.parametrize("manifest", [[], {}, {"format": "new"}, {"format": 1, "rows": {}}])
def test_what_is_no_manifest_is_told(manifest, tmp_path):
    with pytest.raises(BackupFault, match="damaged, or no backup at all"):
        archive.manifest_of(holding(tmp_path / "book.zip", manifest))
