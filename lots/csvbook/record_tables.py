"""The tables of records, as their kinds declare what they carry; `columns` has the others."""

from django.core.validators import MinValueValidator
from django.db import models

from lots.csvbook import rules
from lots.csvbook.cells import Kind, choice, key, text, whole, yes_no
from lots.csvbook.table import Column, column, records
from lots.models import RECORDS, Place, PotSize, Record
from lots.models.kinds import Carried

# What a row has to say in itself, beyond what each of its cells has.
RULES = {"check": rules.CHECK, "potup": rules.POT_UP}
TABLE_OF = {Place: "places", PotSize: "potsizes"}


def _column(model: type[Record], carried: Carried) -> Column:
    field = model._meta.get_field(carried.field)
    optional = "?" if field.blank or carried.empty is not None else ""
    return column(
        carried.in_csv + optional,
        _cell(field, carried),
        carried.field,
        to=TABLE_OF[field.related_model] if field.is_relation else "",
        later=carried.later,
    )


def _cell(field: models.Field, carried: Carried) -> Kind:
    match field:
        case models.ForeignKey():
            return key()
        case models.BooleanField():
            return yes_no()
        case models.IntegerField():
            least = [v.limit_value for v in field.validators if isinstance(v, MinValueValidator)]
            return whole(max(least))
        case _ if field.choices:
            return choice([value for value, _label in field.choices], empty=carried.empty)
        case _:
            return text(field.max_length)


RECORD_TABLES = tuple(
    records(
        model.FILE,
        kind,
        *(_column(model, carried) for carried in model.CARRIES),
        rules=RULES.get(kind, ()),
    )
    for kind, model in RECORDS.items()
)
