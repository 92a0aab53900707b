"""What may not be the same, and what has to be, by whatever way it comes into the book: names in
other capitals, a stock plant's code and a lot's, a plant and the lot it comes from."""

import importlib
from types import SimpleNamespace

import pytest
from django.apps import apps
from django.contrib.auth import get_user_model
from django.db import IntegrityError, connection, transaction
from django.urls import reverse

from lots import codes, ledger
from lots.catalogue import changes
from lots.ledger import audit
from lots.models import Flat, Place, StockPlant, Variety
from tests import factories
from tests.lots import books
from tests.pages import elements, select

pytestmark = pytest.mark.django_db

MADE = {
    "group": {"name": "Tips"},
    "method": {"name": "Tips"},
    "potsize": {"name": "Tips"},
    "place": {"name": "Tips"},
    "flat": {"code": "Tips"},
    "variety": {"code": "Tips"},
    "stock_plant": {"code": "Tips"},
    "session": {"code": "Tips"},
    "person": {"username": "Tips"},
}


@pytest.mark.parametrize("what", MADE)
def test_the_database_holds_no_two_names_that_differ_in_capitals_only(what):
    (field, name), make = *MADE[what].items(), getattr(factories, what)
    make(**{field: name})
    with pytest.raises(IntegrityError), transaction.atomic():
        make(**{field: name.upper()})


def told(page) -> str:
    return " ".join(select(page, ".errorlist"))


@pytest.mark.parametrize(("stands", "typed"), [("Bench a", "BENCH A"), ("Ährenhof", "ährenHOF")])
@pytest.mark.parametrize("address", ["/places/new/", "/back-door/lots/place/add/"])
def test_a_form_refuses_a_name_in_other_capitals(client, boss, address, stands, typed):
    factories.place(name=stands)
    page = client.post(address, {"name": typed, "walk_order": 1})
    assert f"as “{stands}”" in told(page)
    assert Place.objects.count() == 1


def test_a_row_keeps_its_own_name_in_other_capitals(client, boss):
    place = factories.place(name="bench a")
    url = reverse("place-change", args=[place.pk])
    assert client.post(url, {"name": "Bench A", "walk_order": 1}).status_code == 302
    assert Place.objects.get().name == "Bench A"


def test_a_flat_typed_in_other_capitals_is_the_flat_that_stands(client, grower):
    flat, lot = factories.flat(code="Früh-1"), factories.planned_lot()
    sent = {"units": 48, "flat": "FRÜH-1", "stuck_by": grower.pk, "on": lot.session.day}
    assert client.post(reverse("lot-stick", args=[lot.code]), sent).status_code == 302
    lot.refresh_from_db()
    assert lot.flat == flat
    assert Flat.objects.count() == 1


@pytest.fixture
def book(tmp_path):
    books.bring_in(books.write(tmp_path / "hand"))


IMPORTED = [
    ("places", ["place,walk_order", "a1,1"], "column place: a1 differs in capitals only from A1"),
    (
        "places",
        ["place,walk_order", "Nord,1", "NORD,2"],
        "row 3, column place: NORD differs in capitals only from Nord",
    ),
    (
        "stockplants",
        ["code,variety,origin,since,health", "7k3-qfy,V1,bought,2026-01-01,sound"],
        "column code: 7k3-qfy is a lot's code",
    ),
    (
        "stockplants",
        ["code,variety,origin,from_lot,since,health", "N1,V2,own,7K3QFY,2026-01-01,sound"],
        "column variety: it comes from lot 7K3-QFY, so it is of that lot's variety, V1",
    ),
]


@pytest.mark.parametrize(("table", "lines", "says"), IMPORTED)
def test_an_import_names_what_may_not_be_the_same(tmp_path, book, table, lines, says):
    [fault] = books.faults_of(tmp_path, **{table: lines})
    assert says in fault


def test_an_import_of_a_lot_with_a_plants_code_is_refused(tmp_path, book):
    code, other = list(codes_of(1))[:2]
    variety = Variety.objects.get(code="V1")
    factories.stock_plant(code=codes.show(code).lower(), variety=variety)
    lots = [
        "code,variety,method,planned_units,pieces_per_unit,flat",
        f"{code},V1,tip,9,1,f1",
        f"{other},V1,tip,9,1,F1",
    ]
    Flat.objects.get_or_create(code="F1")
    first, second = sorted(books.faults_of(tmp_path, lots=lots))
    assert "column code" in first
    assert "is the code of stock plant" in first
    assert "column flat: f1 differs in capitals only from F1" in second


def codes_of(start: int):
    """Lot codes without chance."""
    for number in range(start, 1000):
        payload = f"{number:05}"
        if (check := codes.check_character(payload)) in codes.CROCKFORD:
            yield payload + check


def test_a_new_lot_never_gets_the_code_of_a_plant(monkeypatch):
    taken, free = list(codes_of(1))[:2]
    factories.stock_plant(code=codes.show(taken).lower().replace("0", "o"))
    drawn = iter([taken, free])
    monkeypatch.setattr(codes, "new_code", lambda: next(drawn))
    assert ledger.new_code() == free


PLANTS = ["/stock/new/", "/back-door/lots/stockplant/add/"]


@pytest.mark.parametrize("address", PLANTS)
def test_a_plants_code_is_none_of_a_lot(client, boss, address):
    lot = factories.stuck_lot()
    sent = {"code": codes.show(lot.code).lower(), "variety": lot.variety_id, "origin": "bought"}
    page = client.post(address, sent | {"health": "sound", "since": "2026-01-01"})
    assert "is a lot's code" in told(page)
    assert not StockPlant.objects.exists()


@pytest.mark.parametrize(("address", "named"), [(PLANTS[0], "code"), (PLANTS[1], "pk")])
def test_a_plant_from_a_lot_is_of_its_variety(client, boss, address, named):
    lot = factories.stuck_lot()
    sent = {"code": "N1", "origin": "own", "health": "sound", "since": "2026-01-01"}
    sent |= {"plants": 1, "from_lot": getattr(lot, named), "variety": factories.variety().pk}
    page = client.post(address, sent)
    assert str(lot.variety) in told(page)
    assert elements(page, "main input[name=code]")[0].get("value") == "N1"
    assert client.post(address, sent | {"variety": lot.variety_id}).status_code == 302
    assert StockPlant.objects.get().from_lot == lot


def test_a_plant_that_lots_were_cut_from_keeps_its_variety(client, boss):
    plant = factories.stock_plant()
    lot = factories.stuck_lot(plants=(plant,))
    url = reverse("stock-change", args=[plant.pk])
    sent = {"code": plant.code, "origin": "bought", "health": "sound", "since": "2026-01-01"}
    page = client.post(url, sent | {"variety": factories.variety().pk})
    assert f"{lot} was cut from it as" in told(page)
    # What is at odds already is no reason to refuse that the plant is quarantined.
    StockPlant.objects.update(variety=factories.variety())
    plant.refresh_from_db()
    sent |= {"variety": plant.variety_id, "health": "quarantined"}
    assert client.post(url, sent).status_code == 302


def test_the_audit_tells_what_the_database_cannot_hold():
    factories.place(name="straße"), factories.place(name="STRASSE")
    lot = factories.stuck_lot()
    kept = factories.stock_plant(code="K1", origin="own", from_lot=lot)
    cut = factories.stuck_lot(plants=(kept,))
    StockPlant.objects.filter(pk=kept.pk).update(variety=factories.variety(code="OTHER"))
    factories.stock_plant(code=codes.show(lot.code).lower())
    found = {(fault.lot, fault.rule): fault.says for fault in audit.audit().faults}
    assert found.keys() == {(None, 0), (lot.code, 0), (cut.code, 0)}
    assert "STRASSE, straße differ in capitals only" in found[None, 0]
    assert "stock plant K1, which comes from it, is OTHER" in found[lot.code, 0]
    assert "stock plant K1, of which it was cut, is OTHER" in found[cut.code, 0]
    says = [fault.says for fault in audit.audit().faults]
    assert any("Its code is that of stock plant" in each for each in says)


def test_pairs_of_an_older_book_are_told_apart_predictably(capsys):
    for name in ("place_name", "person_username"):
        with connection.cursor() as cursor:
            cursor.execute(f"DROP INDEX {name}_in_any_capitals")
    places = [factories.place(name=name) for name in ("n" * 40, "N" * 40, "N" * 38 + "-2")]
    people = [factories.person(username=name) for name in ("ana", "Ana", "ANA")]
    importlib.import_module("lots.migrations.0010_told_apart").rename(
        apps, SimpleNamespace(connection=connection)
    )
    importlib.import_module("nursery.migrations.0002_told_apart").rename(
        apps, SimpleNamespace(connection=connection)
    )
    names = list(Place.objects.order_by("pk").values_list("name", flat=True))
    assert names == ["n" * 40, "N" * 38 + "-3", "N" * 38 + "-2"]
    found = get_user_model().objects.filter(pk__in=[person.pk for person in people])
    assert list(found.order_by("pk").values_list("username", flat=True)) == [
        "ana",
        "Ana-2",
        "ANA-3",
    ]
    assert "“Ana” (person) differed in capitals only" in capsys.readouterr().err
    newest = changes.changes(places[1])[0]
    assert newest.fields == [("place", "N" * 40, "N" * 38 + "-3")]
