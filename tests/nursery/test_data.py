"""The page of imports, exports and backups."""

import io
import zipfile
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.template.defaultfilters import filesizeformat
from django.urls import reverse
from django.utils import timezone

from lots import csvbook
from lots.models import CropGroup
from nursery import backup, imports
from nursery.backup import archive, store
from nursery.backup.archive import Backup, Manifest
from tests import factories
from tests.pages import elements, select

# Checking in a thread reads the database over a connection of its own, which does not see what a
# test's transaction holds: these tests do the thread's work in line.


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture(autouse=True)
def in_line(monkeypatch):
    class InLine:
        def __init__(self, target, args=(), **_kwargs):
            self.start = lambda: target(*args)

    monkeypatch.setattr(imports.threading, "Thread", InLine)
    monkeypatch.setattr(imports.connections, "close_all", lambda: None)


def send(client, *files):
    uploads = [SimpleUploadedFile(name, content.encode()) for name, content in files]
    return client.post(reverse("bring-in"), {"files": uploads})


GOOD = ("crops.csv", "group,genus\nrex begonia,Begonia\n")
POTS = ("potsizes.csv", "pot_size,diameter_cm,pieces_per_pot,least_struck\n9 cm,9,1,1\n")


def test_files_are_checked_then_imported_when_the_manager_says_so(client, boss):
    answer = send(client, GOOD, POTS)
    page = client.get(answer.url)
    assert select(page, "h1") == ["No fault found"]
    assert select(page, ".facts dt") == ["crops.csv", "potsizes.csv"]
    assert not CropGroup.objects.exists()
    [form] = elements(page, "form[action$='commit/']")
    answer = client.post(form.get("action"), follow=True)
    assert select(answer, "h1") == ["Imported"]
    assert CropGroup.objects.get().name == "rex begonia"
    again = client.get(send(client, GOOD).url)
    assert "already" in select(again, ".note")[0]


def test_faults_are_shown_with_row_and_column_and_nothing_is_imported(client, boss):
    bad = ("potsizes.csv", "pot_size,diameter_cm,pieces_per_pot,least_struck\n9 cm,wide,1,1\n")
    answer = send(client, GOOD, bad)
    page = client.get(answer.url)
    [row] = elements(page, "tbody tr")
    cells = ["".join(cell.itertext()) for cell in row]
    assert cells[:3] == ["potsizes.csv", "2", "diameter_cm"]
    assert client.post(answer.url + "commit/").status_code == 302
    assert not CropGroup.objects.exists()


def test_no_file_and_a_file_of_another_kind_are_told(client, boss):
    assert client.post(reverse("bring-in")).status_code == 422
    page = client.get(send(client, ("letter.csv", "Dear\nnursery")).url)
    assert "letter.csv" in select(page, "tbody")[0]


@pytest.mark.parametrize("name", ["job.json", "é" * 200 + ".csv", "0.sent", "a/../b.csv"])
def test_a_file_of_any_name_is_checked_and_told(client, boss, name):
    """Also one with the name of a file of ours, and one too long for a disk."""
    page = client.get(send(client, GOOD, (name, "{}")).url)
    assert select(page, "h1") == ["1 fault"]
    assert "no table has this name" in select(page, "tbody")[0]


def test_two_files_of_one_name_are_both_read(client, boss):
    more = ("crops.csv", GOOD[1].replace("rex", "cane"))
    page = client.get(send(client, GOOD, more).url)
    assert select(page, ".facts dd") == ["2"]


def test_a_job_of_a_server_that_was_stopped_is_known_for_broken(client, boss):
    number = send(client, GOOD).url.strip("/").split("/")[-1]
    job = imports.find(number)
    job.state = "importing"
    imports._tell(job)
    page = client.get(reverse("import", args=[number]))
    assert "Nothing was imported." in select(page, ".note")[0]


@pytest.mark.parametrize("number", ["0123456789abcdef", "..", "a-b"])
def test_an_import_that_is_not_kept_is_not_found(client, boss, number):
    assert client.get(reverse("import", args=[number])).status_code == 404


def test_the_whole_book_is_taken_out_as_csv_files(client, boss):
    lot = factories.stuck_lot()
    answer = client.get(reverse("take-out"))
    archive = zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content)))
    assert len(archive.namelist()) == len(csvbook.TABLES) > 20
    assert lot.code in archive.read("lots.csv").decode()


@pytest.mark.parametrize(("days", "warns"), [(0, False), (1, False), (3, True)])
def test_the_page_warns_when_the_last_backup_is_old(client, boss, folder, monkeypatch, days, warns):
    made_at = timezone.localtime() - timedelta(days=days)
    manifest = Manifest(1, made_at.isoformat(), "book.sqlite3", {}, [], 0, False)
    (folder / "a.zip").write_bytes(b"x")
    monkeypatch.setattr(backup, "backups", lambda: [Backup(folder / "a.zip", manifest)])
    page = client.get(reverse("data"))
    assert any("too long ago" in text for text in select(page, ".note.wrong")) == warns


def test_a_backup_of_time_to_come_is_told_and_does_not_count(client, boss, folder, monkeypatch):
    made_at = timezone.localtime() + timedelta(days=400)
    manifest = Manifest(1, made_at.isoformat(), "book.sqlite3", {}, [], 0, False)
    (folder / "a.zip").write_bytes(b"x")
    monkeypatch.setattr(backup, "backups", lambda: [Backup(folder / "a.zip", manifest)])
    page = client.get(reverse("data"))
    assert "Check the clock" in select(page, ".note.wrong")[0]
    assert "last good backup" not in page.content.decode()


def test_the_page_says_what_backups_take_with_their_photos_once(client, boss, folder):
    """Two which share a photo of 3,000 bytes, and an older one with its photo in it."""
    there, photos = folder / "backups", folder / "photos"
    there.mkdir()
    photos.mkdir()
    (photos / "leaf.jpg").write_bytes(bytes(3000))
    (folder / "book.sqlite3").write_bytes(b"the book")
    shared = store.put(photos, there / store.NAME, folder)
    written = {"made_at": timezone.localtime(), "rows": {}, "faults": []}
    for name, kept in (("a", shared), ("b", shared), ("c", photos)):
        path = there / f"strikebook-{name}.zip"
        archive.write(path, folder / "book.sqlite3", kept, **written)
    page = client.get(reverse("data"))
    of_all = sum(one.size for one in backup.backups()) + 3000
    of_all, of_photos = (filesizeformat(size).replace("\xa0", " ") for size in (of_all, 3000))
    (says,) = [text for text in select(page, "p") if "on the disk" in text]
    assert f"3 backups take {of_all} on the disk together." in says
    assert f"{of_photos} of that is 1 photo, which they share." in says
    assert ["its photos in it" in text for text in select(page, "li.small")] == [True, False, False]


def test_the_page_warns_while_there_is_no_backup(client, boss):
    assert "no backup yet" in select(client.get(reverse("data")), ".note.wrong")[0]


def test_a_backup_that_fails_is_told(client, boss, monkeypatch):
    def fail():
        raise backup.BackupFault("The disk is full.")

    monkeypatch.setattr(backup, "backup", fail)
    answer = client.post(reverse("back-up"), follow=True)
    assert "The disk is full." in select(answer, ".messages .error")[0]


def test_growers_keep_out(client, grower):
    for name in ("data", "take-out"):
        assert client.get(reverse(name)).status_code == 403
    for name in ("bring-in", "back-up"):
        assert client.post(reverse(name)).status_code == 403
        assert client.get(reverse(name))["Location"] == reverse("data")


def test_which_columns_gives_an_empty_file_that_imports_again(client, boss):
    page = client.get(reverse("data"))
    links = [one.get("href") for one in elements(page, "details a")]
    for name in csvbook.TABLES:
        assert reverse("columns", args=[name]) in links
        heads = client.get(reverse("columns", args=[name])).content
        report = csvbook.import_files([(f"{name}.csv", io.BytesIO(heads))])
        assert (report.good, report.added) == (True, {})
    assert client.get(reverse("columns", args=["nothing"])).status_code == 404
