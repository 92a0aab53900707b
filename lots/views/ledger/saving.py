"""How what stands in a form is written: its records with their photo, or nothing of it."""

from uuid import UUID

from django.db import transaction

from lots import ledger
from lots.forms.ledger.records import RecordForm
from lots.ledger import photos
from lots.models import Record


def save(form: RecordForm, by, action: UUID | None = None) -> tuple[Record, str]:
    """Write a valid form; returns its first record, and a sentence on what else that brought about.
    Raises Refused."""
    photo = form.cleaned_data.get("photo")
    image = photos.shrunk(photo) if photo else None
    with transaction.atomic():
        written = [(form.lot, form.entries(by)), *form.also(by)]
        entry, is_new = ledger.record_together(written, action)[0]
        if image and is_new:
            photos.attach(entry, image)
        return entry, form.follow(entry, by) if is_new else ""
