"""`manage.py importcsv` and `exportcsv`: what they print, and their exit status."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from lots import outlook
from lots.forecast.effects import NoConvergence
from lots.models import Fit, Forecast, Lot, Place
from lots.models.lot import STANDING
from lots.outlook import stored_fit
from tests.lots import books

pytestmark = pytest.mark.django_db


def run(*words: object) -> tuple[int, str, str]:
    out, err = StringIO(), StringIO()
    status = 0
    try:
        call_command(*map(str, words), stdout=out, stderr=err)
    except SystemExit as end:
        status = end.code
    return status, out.getvalue(), err.getvalue()


def test_it_says_what_it_added_and_what_was_there(tmp_path):
    folder = books.write(tmp_path / "hand")
    status, out, err = run("importcsv", folder)
    assert (status, err) == (0, "")
    assert "lots.csv: 4 added\n" in out
    _status, out, _err = run("importcsv", folder / "lots.csv")
    assert out == "lots.csv: 0 added, 4 already there\n"


def test_a_dry_run_says_what_would_be_added(tmp_path):
    status, out, _err = run("importcsv", books.write(tmp_path / "hand"), "--dry-run")
    assert status == 0
    assert "places.csv: 2 would be added\n" in out
    assert not Place.objects.exists()


def test_forecasts_stand_on_what_was_imported(tmp_path):
    folder = books.write(tmp_path / "hand")
    run("importcsv", folder, "--dry-run")
    assert not Fit.objects.exists()
    _status, out, _err = run("importcsv", folder)
    assert "Forecasts made anew" in out
    assert not stored_fit.is_behind()
    standing = Lot.objects.filter(stage__in=STANDING)
    assert standing.exists()
    assert not standing.exclude(forecasts__moment=Forecast.Moment.NEWEST).exists()


def test_an_import_stays_where_the_book_cannot_be_fitted(tmp_path, monkeypatch):
    def fail():
        raise NoConvergence("No mode after 60 steps: 4 rows.")

    monkeypatch.setattr(outlook, "refit", fail)
    status, out, err = run("importcsv", books.write(tmp_path / "hand"))
    assert status == 0
    assert "lots.csv: 4 added\n" in out
    assert "could not be made anew: No mode" in err


def test_faults_go_to_standard_error_one_a_line(tmp_path):
    folder = books.write(tmp_path / "given", places=["place,walk_order", "A1,x", "A2,y", "A3,3"])
    status, out, err = run("importcsv", folder)
    assert (status, out) == (1, "")
    lines = err.splitlines()
    assert [line.partition(":")[0] for line in lines[:2]] == [
        "places.csv, row 2, column walk_order",
        "places.csv, row 3, column walk_order",
    ]
    assert lines[2:] == ["Nothing was imported: there are 2 faults."]
    assert not Place.objects.exists()


def test_very_many_faults_are_counted_and_not_all_listed(tmp_path):
    rows = [f"A{number},x" for number in range(5000)]
    folder = books.write(tmp_path / "given", places=["place,walk_order", *rows])
    status, _out, err = run("importcsv", folder)
    assert status == 1
    assert len(err.splitlines()) == 102
    assert err.endswith("… and 4900 more.\nNothing was imported: there are 5000 faults.\n")


@pytest.mark.parametrize(
    ("place", "says"),
    [("nowhere.csv", "There is no file"), ("", "holds none of the files crops.csv, methods.csv")],
)
def test_without_files_it_is_wrong_usage(tmp_path, place, says):
    with pytest.raises(CommandError, match=says) as refusal:
        run("importcsv", tmp_path / place)
    assert refusal.value.returncode == 2


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(CommandError, match="The book could not be exported: "):
        run("exportcsv", tmp_path / "file")


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def test_progress_is_shown_where_somebody_watches(tmp_path):
    rows = [f"A{number},{number}" for number in range(2500)]
    folder = books.write(tmp_path / "given", places=["place,walk_order", *rows])
    watched = Terminal()
    call_command("importcsv", str(folder), stdout=StringIO(), stderr=watched)
    assert "Reading places.csv 1,000" in watched.getvalue()
    assert "Reading places.csv 2,000" in watched.getvalue()


def test_an_export_says_what_it_wrote(tmp_path):
    run("importcsv", books.write(tmp_path / "hand"))
    status, out, _err = run("exportcsv", tmp_path / "out")
    assert status == 0
    assert "checks.csv: 3\n" in out
