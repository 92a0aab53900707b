"""What rows of several tables have to hold together, beyond the names that they refer to."""

from itertools import batched

from django.utils.translation import gettext as _

from lots.csvbook.columns import TABLES
from lots.csvbook.faults import Faults
from lots.models import RECORDS, Arm, Lot, StockPlant, Variety
from lots.models.trial import LETTERS

type Rows = dict[str, list]

BATCH = 500  # keys in one question to the database


def check_together(new: Rows, rows: Rows, faults: Faults) -> None:
    """Hold the new rows against all rows of the files and the book."""
    _check_uuids(new, faults)
    _check_licences(new["lots"], rows, faults)
    _check_cuts(new["cuts"], rows, faults)
    _check_arms(new, rows, faults)


def _check_uuids(new: Rows, faults: Faults) -> None:
    """No two records have one uuid, of whatever kinds they are."""
    tables = [table for table in TABLES.values() if table.record]
    first: dict[object, str] = {}
    for table in tables:
        for row in new[table.name]:
            if row.uuid is not None and first.setdefault(row.uuid, table.name) != table.name:
                says = _("%(uuid)s stands already in %(file)s; each record has its own") % {
                    "uuid": row.uuid,
                    "file": f"{first[row.uuid]}.csv",
                }
                faults.add(row.file, row.number, "uuid", says)
    for table in tables:
        others = [model for kind, model in RECORDS.items() if kind != table.record]
        for some in batched(new[table.name], BATCH):
            rows = {row.uuid: row for row in some if row.uuid is not None}
            for model in others:
                for taken in model.objects.filter(uuid__in=rows).values_list("uuid", flat=True):
                    says = _("%(uuid)s is a %(kind)s in the book; each record has its own") % {
                        "uuid": taken,
                        "kind": model._meta.verbose_name,
                    }
                    faults.add(rows[taken].file, rows[taken].number, "uuid", says)


def _check_licences(lots: list, rows: Rows, faults: Faults) -> None:
    """No lot of a protected variety is stuck without a licence."""
    shut = set(
        Variety.objects.filter(protected=True, licence="").values_list("code", flat=True)
    ) | {row.code for row in rows.get("varieties", ()) if row.protected and not row.licence}
    for row in lots:
        if row.variety in shut and row.stuck_on:
            faults.add(
                row.file,
                row.number,
                "variety",
                _(
                    "%(variety)s is protected and has no licence reference; it may not be "
                    "propagated without a licence: write the reference in varieties.csv"
                )
                % {"variety": row.variety},
            )


def _check_cuts(cuts: list, rows: Rows, faults: Faults) -> None:
    """A stock plant gives cuttings of its own variety only."""
    if not cuts:
        return
    of_plant = dict(StockPlant.objects.values_list("code", "variety__code"))
    of_plant |= {row.code: row.variety for row in rows.get("stockplants", ())}
    of_lot = dict(Lot.objects.values_list("code", "variety__code"))
    of_lot |= {row.code: row.variety for row in rows.get("lots", ())}
    for row in cuts:
        its, wanted = of_plant.get(row.stock_plant), of_lot.get(row.lot)
        if its and wanted and its != wanted:
            faults.add(
                row.file,
                row.number,
                "stock_plant",
                _("%(plant)s is of variety %(its)s, and the lot is of %(wanted)s")
                % {"plant": row.stock_plant, "its": its, "wanted": wanted},
            )


def _check_arms(new: Rows, rows: Rows, faults: Faults) -> None:
    """A trial has its two arms, and a lot of a trial stands in one of them."""
    arms = rows.get("arms", ())
    unsure = "arms" in faults.unread or any(row.broken for row in arms)
    known = {(row.trial, row.letter) for row in arms}
    if new["triallots"]:
        known |= set(Arm.objects.values_list("trial__code", "letter"))
    for row in new["triallots"]:
        if row.trial and row.arm and not unsure and (row.trial, row.arm) not in known:
            says = _("trial %(trial)s has no arm %(arm)s, in the book or in arms.csv")
            words = {"trial": row.trial, "arm": row.arm}
            faults.add(row.file, row.number, "arm", says % words)
    for row in new["trials"]:
        missing = [letter for letter in LETTERS if (row.code, letter) not in known]
        if missing and not unsure:
            says = _("its arm %(arm)s is missing in arms.csv; a trial has the arms A and B")
            faults.add(row.file, row.number, "trial", says % {"arm": " and ".join(missing)})
