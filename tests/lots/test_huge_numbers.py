"""A slip of the finger makes a number that no bench holds: it is told, and nothing is stored."""

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from lots import ledger
from lots.ledger import Refused
from lots.models import Loss, Lot, Place, PotUp, StrikeCheck
from lots.models.lot import MOST_PIECES, MOST_UNITS
from tests import factories
from tests.lots import books
from tests.lots.sending import record, refused
from tests.pages import select

HUGE = [10**6, 10**12, 10**30]


def told(answer, name: str) -> str:
    """The sentence at the field."""
    assert answer.status_code == 422
    [says] = select(answer, f"#id_{name}_error li")
    return says


def line(**fields):
    given = {"variety": factories.variety().code, "method": factories.method().pk}
    return given | {"units": 48, "pieces_per_unit": 1} | fields


@pytest.mark.parametrize("number", [MOST_UNITS + 1, *HUGE])
def test_in_a_line_of_a_session(client, boss, number):
    session = factories.session()
    add = reverse("session-add", args=[session.pk])
    assert str(MOST_UNITS) in told(client.post(add, line(units=number)), "units")
    pieces = client.post(add, line(pieces_per_unit=number))
    assert str(MOST_PIECES) in told(pieces, "pieces_per_unit")
    assert not Lot.objects.exists()

    lot = factories.planned_lot(session=session)
    change = reverse("session-line", args=[session.pk, lot.code])
    assert str(MOST_UNITS) in told(client.post(change, line(units=number)), "units")
    assert Lot.objects.get().planned_units == 48


def test_the_most_is_stored_with_all_its_pieces(client, boss):
    """What is allowed is held by every column, on PostgreSQL, too."""
    plant = factories.stock_plant()
    add = reverse("session-add", args=[factories.session().pk])
    most = {"units": MOST_UNITS, "pieces_per_unit": MOST_PIECES}
    answer = client.post(add, line(variety=plant.variety.code, plants=[plant.pk], **most))
    assert answer.status_code == 302
    lot = Lot.objects.get()
    assert lot.cuts.get().pieces == MOST_UNITS * MOST_PIECES
    ledger.stick(lot, units=MOST_UNITS, on=timezone.localdate(), by=boss)


@pytest.mark.parametrize("number", HUGE)
def test_in_what_was_stuck(client, grower, number):
    lot = factories.planned_lot()
    typed = {"units": number, "stuck_by": grower.pk, "on": timezone.localdate()}
    answer = client.post(reverse("lot-stick", args=[lot.code]), typed)
    assert str(MOST_UNITS) in told(answer, "units")
    lot.refresh_from_db()
    assert not lot.is_stuck


@pytest.mark.parametrize("number", HUGE)
@pytest.mark.parametrize(
    ("verb", "field"),
    [
        ("check", "looked_at"),
        ("check", "rooted"),
        ("check", "lost_rot"),
        ("loss", "lost_pest"),
        ("pot-up", "units"),
        ("pot-up", "pots"),
        ("finish", "pots"),
        ("leave", "pots"),
    ],
)
def test_in_a_record(client, grower, verb, field, number):
    lot = factories.stuck_lot()
    url = reverse(f"lot-{verb}", args=[lot.code])
    others = {"looked_at": 10, "rooted": 1, "units": 10, "pot_size": factories.potsize().pk}
    typed = others | {"uuid": uuid4(), "stage": "finished", "way": "sold", field: number}
    assert str(MOST_UNITS) in told(client.post(url, typed), field)
    assert not StrikeCheck.objects.exists()
    assert not Loss.objects.exists()
    assert not PotUp.objects.exists()


@pytest.mark.parametrize("number", HUGE)
@pytest.mark.parametrize(
    ("kind", "field"),
    [
        ("check", "looked_at"),
        ("check", "showing"),
        ("loss", "units"),
        ("potup", "units"),
        ("potup", "pots"),
        ("finish", "pots"),
        ("leave", "pots"),
    ],
)
def test_in_a_record_that_a_phone_sends(client, grower, kind, field, number):
    factories.potsize(name="9 cm")
    assert refused(client, record(factories.stuck_lot(), kind, **{field: number}))


@pytest.mark.parametrize("number", HUGE)
@pytest.mark.parametrize("column", ["planned_units", "pieces_per_unit", "stuck_units"])
def test_in_a_csv_file(db, tmp_path, number, column):
    header = books.BOOK["lots"][0].split(",")
    lot = dict(zip(header, books.BOOK["lots"][1].split(","), strict=True)) | {column: number}
    lots = [",".join(header), ",".join(str(cell) for cell in lot.values())]
    [fault] = [
        says for says in books.faults_of(tmp_path, **books.BOOK | {"lots": lots}) if column in says
    ]
    assert f"column {column}: {number} is out of range" in fault
    assert not Lot.objects.exists()


@pytest.mark.parametrize("number", [2**31, *HUGE[1:]])
def test_in_a_catalogue(client, boss, number):
    place = client.post(reverse("place-new"), {"name": "A", "walk_order": number})
    assert "2147483647" in told(place, "walk_order")
    assert not Place.objects.exists()
    size = {"name": "9 cm", "diameter_cm": 9, "pieces_per_pot": number, "least_struck": 1}
    answer = client.post(reverse("pot-size-new"), size)
    assert "32767" in told(answer, "pieces_per_pot")


@pytest.mark.parametrize("size", [(MOST_UNITS + 1, 1), (1, MOST_PIECES + 1)])
def test_in_a_plan_that_no_form_has_seen(db, size):
    units, pieces = size
    with pytest.raises(Refused):
        factories.planned_lot(planned_units=units, pieces_per_unit=pieces)
