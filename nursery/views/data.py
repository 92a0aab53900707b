"""The book in and out: imports, exports, backups. For managers."""

import csv
import tempfile
import zipfile
from datetime import timedelta
from pathlib import Path

from django import forms
from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from lots import csvbook
from lots.views.access import manager_only
from lots.views.files import csv_answer, takes
from nursery import backup, clock, imports
from nursery.not_in_csv import NOT_IN_CSV
from nursery.upkeep import soundness

OLD_AFTER = timedelta(days=2)
MOST_BYTES = 200_000_000
MOST_SENT = 210 * 1024**2  # they and the form around them


class ManyFilesInput(forms.ClearableFileInput):
    allow_multiple_selected = True


class ManyFiles(forms.FileField):
    widget = ManyFilesInput({"accept": ".csv,.xlsx,.txt,.tsv"})

    def clean(self, data, initial=None):
        return [super(ManyFiles, self).clean(one, initial) for one in data or [None]]


class ImportForm(forms.Form):
    files = ManyFiles(
        label=gettext_lazy("Files"),
        help_text=gettext_lazy(
            "CSV files named after their tables (varieties.csv, lots.csv …), or a workbook (.xlsx) "
            "with sheets so named. Choose all of them at once."
        ),
    )

    def clean_files(self):
        files = self.cleaned_data["files"]
        if sum(file.size for file in files) > MOST_BYTES:
            raise forms.ValidationError(_("These files are over 200 MB together; send fewer."))
        return files


@never_cache
@require_safe
@manager_only
def data(request: HttpRequest) -> HttpResponse:
    return _data_page(request, ImportForm())


@takes(MOST_SENT)
@require_POST
@manager_only
def bring_in(request: HttpRequest) -> HttpResponse:
    """Keep the files and check them; nothing is imported yet."""
    form = ImportForm(request.POST, request.FILES)
    if not form.is_valid():
        return _data_page(request, form, status=422)
    return redirect("import", imports.start(form.cleaned_data["files"]).number)


@require_safe
@manager_only
def an_import(request: HttpRequest, number: str) -> HttpResponse:
    job = _job(number)
    response = render(request, "nursery/import.html", {"job": job})
    if job.is_running:
        response["Refresh"] = "2"
    return response


@require_POST
@manager_only
def commit(request: HttpRequest, number: str) -> HttpResponse:
    job = _job(number)
    if job.state == "ready":
        imports.commit(job)
    return redirect("import", number)


@never_cache
@require_safe
@manager_only
def take_out(request: HttpRequest) -> FileResponse:
    """All tables as CSV files, in one archive."""
    # The response closes the file, and closing it removes it.
    archive = tempfile.TemporaryFile()  # noqa: SIM115
    with (
        tempfile.TemporaryDirectory() as folder,
        zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        csvbook.export(Path(folder))
        for path in sorted(Path(folder).iterdir()):
            packed.write(path, path.name)
    archive.seek(0)
    name = f"strikebook-{timezone.localdate()}.zip"
    return FileResponse(archive, as_attachment=True, filename=name)


@require_safe
@manager_only
def columns(request: HttpRequest, name: str) -> HttpResponse:
    """An empty file of a table: its heads, to be filled in and brought in again."""
    table = csvbook.TABLES.get(name)
    if table is None:
        raise Http404(_("There is no such table."))
    answer = csv_answer(f"{name}.csv")
    csv.writer(answer).writerow([column.name for column in table.columns])
    return answer


@require_POST
@manager_only
def back_up(request: HttpRequest) -> HttpResponse:
    try:
        made = backup.backup()
    except (backup.BackupFault, OSError) as fault:
        messages.error(request, _("There is no new backup: %(fault)s") % {"fault": fault})
    else:
        messages.success(
            request, _("Backed up and read back: %(name)s.") % {"name": made.path.name}
        )
    return redirect("data")


def _data_page(request: HttpRequest, form: ImportForm, status: int = 200) -> HttpResponse:
    made = backup.backups()
    last = next((one for one in made if not one.is_ahead), None)
    photos = backup.photo_sizes()
    context = {
        "form": form,
        "time_zone": clock.name(),
        "tables": csvbook.TABLES,
        "not_in_csv": [words for words, _fields in NOT_IN_CSV],
        "backups": made,
        "backup_bytes": sum(one.size for one in made) + sum(photos),
        "backup_photos": len(photos),
        "backup_photo_bytes": sum(photos),
        "last": last,
        "is_old": last and timezone.now() - last.made_at > OLD_AFTER,
        "ahead": [one for one in made if one.is_ahead],
        "checked": soundness.last(),
    }
    return render(request, "nursery/data.html", context, status=status)


def _job(number: str) -> imports.Job:
    job = imports.find(number) if number.isalnum() else None
    if job is None:
        raise Http404(_("The files of this import are kept no longer; send them once more."))
    return job
