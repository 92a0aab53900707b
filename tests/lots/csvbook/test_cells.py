"""Each kind of cell reads back what it shows, and a shield comes off as it went on."""

import uuid
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lots.csvbook import cells
from lots.csvbook import days as day_cells
from tests.lots.books import texts

offsets = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
days = st.dates(date(1800, 1, 2), date(2999, 12, 30))
moments = st.datetimes(datetime(1800, 1, 3), datetime(2999, 12, 29), timezones=offsets)  # noqa: DTZ001
KINDS = [
    (cells.text(), texts()),
    (cells.key(20), texts(most=20, least=1)),
    (cells.whole(), st.integers(0, cells.INTEGER)),
    (cells.decimal(4, 1, least=1), st.integers(10, 9999).map(lambda tenths: Decimal(tenths) / 10)),
    (cells.yes_no(), st.booleans()),
    (cells.choice(["rot", "dried out"]), st.sampled_from(["rot", "dried out"])),
    (day_cells.day(), days),
    (day_cells.moment(), moments),
    (cells.uid(), st.uuids()),
]


@pytest.mark.parametrize("kind", range(len(KINDS)))
@given(data=st.data())
def test_a_kind_reads_back_what_it_shows(kind, data):
    kind, values = KINDS[kind]
    value = data.draw(values)
    assert kind.parse(cells.shown(kind, value)) == value


@given(texts())
def test_a_shield_is_safe_and_comes_off_as_it_went_on(text):
    safe = cells.shield(text)
    assert not safe.startswith(cells.FORMULA)
    assert safe == safe.strip()
    assert cells.unshield(safe) == text


@pytest.mark.parametrize("typed", ["'Tis", "'", "'90s", "' =x"])
def test_an_apostrophe_that_somebody_typed_stays(typed):
    assert cells.unshield(typed) == typed


@given(st.text())
def test_no_text_is_more_than_refused(text):
    for kind in [kind for kind, _values in KINDS] + [cells.lot_code(), cells.sign_in_name()]:
        with suppress(cells.Wrong):
            kind.parse(text)


def test_a_moment_keeps_its_offset_apart_from_its_instant():
    value = day_cells.moment().parse("2026-03-02T14:30:00+05:30")
    assert value == datetime(2026, 3, 2, 9, tzinfo=UTC)


def test_a_lot_code_is_read_from_any_hand():
    assert cells.lot_code().parse("7k3-qfy") == "7K3QFY"


def test_an_empty_text_and_nothing_are_one_empty_cell():
    assert cells.shown(cells.text(), "") == cells.shown(cells.whole(), None) == ""


def test_a_uuid_is_read_in_any_writing():
    value = uuid.uuid4()
    assert cells.uid().parse(value.hex.upper()) == value
