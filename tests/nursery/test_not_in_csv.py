"""Every field of every table is in the CSV files, or named as one that isn't."""

from fnmatch import fnmatchcase

from django.apps import apps
from django.db.models import Model

from lots.csvbook import TABLES
from lots.csvbook.columns import STUCK_UNITS
from nursery.not_in_csv import NOT_IN_CSV
from tests.nursery.test_docs import HANDBOOK

PATTERNS = [pattern for _words, patterns in NOT_IN_CSV for pattern in patterns]
FIELDS = [
    f"{model._meta.label}.{field.name}"
    for model in apps.get_models(include_auto_created=True)
    for field in model._meta.concrete_fields
]


def on_the_way(model: type[Model], path: str) -> list[str]:
    """The fields that a path goes over, from a model to the one that a cell shows."""
    found = []
    for name in path.split("__"):
        field = model._meta.pk if name == "pk" else model._meta.get_field(name)
        found.append(f"{model._meta.label}.{field.name}")
        model = field.related_model or model
    return found


HELD = {
    field
    for table in TABLES.values()
    for column in table.columns
    for field in on_the_way(
        table.model, column.field if column.path is STUCK_UNITS else str(column.path)
    )
}


def test_every_field_is_in_the_files_or_named_as_one_that_is_not():
    named = {each for each in FIELDS if any(fnmatchcase(each, one) for one in PATTERNS)}
    assert set(FIELDS) - HELD - named == set()


def test_nothing_is_named_that_is_not_there_or_is_in_the_files():
    for pattern in PATTERNS:
        matching = {field for field in FIELDS if fnmatchcase(field, pattern)}
        assert matching, pattern
        assert pattern == "*.id" or not matching & HELD, pattern


def test_the_handbook_names_what_the_files_do_not_hold():
    [says] = [line for line in HANDBOOK.splitlines() if line.startswith("Not in the CSV files")]
    named = says.partition(": ")[2].rstrip(".").split("; ")
    assert named == [str(words) for words, _patterns in NOT_IN_CSV]
