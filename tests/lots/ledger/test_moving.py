"""Carrying lots elsewhere by their pages: a flat, its pots alone, pots as they are made; and
taking back what one form wrote."""

import re
import uuid

import pytest
from django.urls import reverse

from lots import ledger
from lots.models import Lot, Move, PotUp, StrikeCheck
from lots.worklists import walk
from tests import factories
from tests.lots.entries import days_ago, finish, move, potup
from tests.pages import elements, query_count, select


def shown(lot):
    return f"{lot.code[:3]}-{lot.code[3:]}"


def url(lot, verb):
    return reverse(f"lot-{verb}", args=[lot.code])


def send(client, lot, verb, at="", **typed):
    return client.post(url(lot, verb) + at, {"uuid": str(uuid.uuid4()), **typed})


def where(lot):
    lot = Lot.objects.get(pk=lot.pk)
    return lot.place, lot.pots_place


def saved(client, answer):
    """What is said of what was just saved, and the address of its Undo."""
    page = client.get(answer.url)
    [link] = elements(page, ".messages a:not(.next)")
    return select(page, ".messages li")[0], link.get("href")


def undo(client, link, **typed):
    return client.post(link, {"why": "wrong lot", **typed})


@pytest.fixture
def bench(db):
    return factories.place(name="1-04", walk_order=104)


@pytest.fixture
def house(db):
    return factories.place(name="3-02", walk_order=302)


def half_potted(bench, house, **fields):
    """Its cells stand at the bench, and 12 pots in the house."""
    lot = factories.stuck_lot(days=200, place=bench, **fields)
    at = days_ago(40)
    ledger.record(lot, [potup(lot.stuck_by, 12, at), move(lot.stuck_by, house, at, what="pots")])
    return Lot.objects.get(pk=lot.pk)


def test_a_flat_carries_its_cells_and_not_the_pots_that_left_it(client, grower, bench, house):
    flat, yard = factories.flat(), factories.place(name="4-01")
    lots = [factories.stuck_lot(flat=flat, place=bench) for _ in range(2)]
    half = half_potted(bench, house, flat=flat)
    potted = factories.stuck_lot(days=90, flat=flat, place=bench, units=10)
    at = days_ago(30)
    ledger.record(potted, [potup(grower, 10, at), move(grower, house, at, what="pots")])
    strayed = factories.stuck_lot(flat=flat, place=house)
    page = client.get(url(lots[0], "move"))
    assert sorted(select(page, ".goes .code")) == sorted(map(shown, [lots[1], half]))
    assert select(page, ".note .code") == [shown(strayed)]
    answer = send(client, lots[0], "move", place=yard.pk, whole_flat="on")
    assert "3 lots moved to 4-01" in saved(client, answer)[0]
    assert [where(lot) for lot in lots] == [(yard, None)] * 2
    assert where(half) == (yard, house)
    assert where(potted) == where(strayed) == (house, None)


def test_the_flat_of_twelve_goes_back_with_one_undo(client, grower, bench, house):
    flat = factories.flat()
    lots = [factories.stuck_lot(flat=flat, place=bench) for _ in range(12)]
    answer = send(client, lots[3], "move", place=house.pk, whole_flat="on")
    assert {where(lot) for lot in lots} == {(house, None)}
    _said, link = saved(client, answer)
    assert len(select(client.get(link), ".goes li")) == 12
    assert undo(client, link).status_code == 302
    assert {where(lot) for lot in lots} == {(bench, None)}


@pytest.mark.parametrize(
    ("what", "stands"),
    [("cells", ("yard", "house")), ("pots", ("bench", "yard")), ("all", ("yard", None))],
)
def test_of_a_lot_at_two_places_one_part_is_moved_or_all(
    client, grower, bench, house, what, stands
):
    lot, yard = half_potted(bench, house), factories.place()
    asked = select(client.get(url(lot, "move")), "#id_what label, label:has([name=what])")
    assert any("36 alive, at 1-04" in label for label in asked)
    assert any("12, at 3-02" in label for label in asked)
    send(client, lot, "move", place=yard.pk, what=what)
    named = {"bench": bench, "house": house, "yard": yard, None: None}
    assert where(lot) == tuple(named[name] for name in stands)
    assert Move.objects.order_by("-pk")[0].what == what


def test_a_lot_in_one_piece_is_not_asked_what_goes(client, grower, bench, house):
    lot = factories.stuck_lot(place=bench)
    assert not elements(client.get(url(lot, "move")), "[name=what]")
    send(client, lot, "move", place=house.pk)
    assert where(lot) == (house, None)


def test_a_check_and_its_losses_go_with_one_undo_or_one_alone(client, grower):
    lot = factories.stuck_lot(units=20)
    typed = {"looked_at": 20, "rooted": 15, "lost_rot": 3, "lost_pest": 2}
    _said, link = saved(client, send(client, lot, "check", **typed))
    assert undo(client, link).status_code == 302
    lot.refresh_from_db()
    assert (lot.cells, lot.stage) == (20, "stuck")
    _said, link = saved(client, send(client, lot, "check", **typed))
    undo(client, link, alone="on")
    lot.refresh_from_db()
    assert (lot.cells, lot.stage) == (15, "stuck")


def test_an_undo_that_no_longer_fits_says_why_and_undoes_nothing(client, grower, bench, house):
    lot, size = factories.stuck_lot(days=90, place=bench), factories.potsize()
    typed = {"units": 20, "pots": 20, "pot_size": size.pk, "place": house.pk}
    _said, link = saved(client, send(client, lot, "pot-up", **typed))
    ledger.record(lot, [finish(grower, 4)])
    refused = undo(client, link)
    assert refused.status_code == 422
    assert "finish" in select(refused, ".errorlist li")[0]
    assert where(lot) == (bench, house)
    assert not Move.objects.exclude(voided_at=None).exists()


def test_potting_up_and_carrying_the_pots_is_one_form(client, grower, bench, house):
    lot = factories.stuck_lot(days=90, place=bench)
    size = factories.potsize(name="10 cm", pieces_per_pot=3, least_struck=2)
    page = client.get(url(lot, "pot-up"))
    assert select(page, "[name=pot_size] [selected]") == ["10 cm (3 a pot)"]
    assert select(page, "[name=place] option")[0] == "where its cells stand: 1-04"
    typed = {"units": 30, "pots": "", "pot_size": size.pk, "place": house.pk}
    said, link = saved(client, send(client, lot, "pot-up", **typed))
    assert "10 pots potted up, at 3-02" in said
    assert where(lot) == (bench, house)
    made, moved = PotUp.objects.get(), Move.objects.get()
    assert (made.pots, moved.what, moved.observed_at) == (10, "pots", made.observed_at)
    page = client.get(url(lot, "pot-up"))
    assert select(page, "[name=place] option")[0] == "where its pots stand: 3-02"
    undo(client, link)
    assert where(lot) == (bench, None)
    lot.refresh_from_db()
    assert (lot.cells, lot.pots_made) == (48, 0)


def test_pots_that_are_sent_nowhere_stay_where_the_cells_stood(client, grower, bench, house):
    lot, size = factories.stuck_lot(days=90, place=bench), factories.potsize()
    send(client, lot, "pot-up", units=20, pot_size=size.pk)
    assert not Move.objects.exists()
    send(client, lot, "move", place=house.pk, what="cells")
    assert where(lot) == (house, bench)


def test_the_number_of_pots_is_whoever_potted_them_says(client, grower):
    lot, size = factories.stuck_lot(days=90), factories.potsize(pieces_per_pot=3)
    send(client, lot, "pot-up", units=30, pots=12, pot_size=size.pk)
    assert PotUp.objects.get().pots == 12


@pytest.mark.parametrize(
    ("units", "pieces", "a_pot", "least", "pots"),
    [
        (30, 1, 3, 2, 10),
        (31, 1, 3, 2, 10),  # one over goes in with the others
        (32, 1, 3, 2, 11),  # two over fill a pot
        (1, 1, 3, 2, 1),
        (7, 1, 1, 1, 7),
        (30, 3, 3, 3, 30),
        (30, 2, 3, 1, 20),
        (5, 9, 3, 1, 5),  # a unit is not taken apart
    ],
)
def test_the_pots_that_a_size_makes(units, pieces, a_pot, least, pots):
    size = factories.PotSize(pieces_per_pot=a_pot, least_struck=least)
    assert size.pots_of(units, pieces) == pots


def test_the_likeliest_size_is_that_of_the_lot_then_of_its_variety(client, grower):
    first, second = factories.potsize(name="7 cm"), factories.potsize(name="9 cm")
    lot = factories.stuck_lot(days=90)
    asked = f"{url(lot, 'pot-up')}"
    assert select(client.get(asked), "[name=pot_size] [selected]") == ["- Select an option -"]
    mate = factories.stuck_lot(days=90, variety=lot.variety)
    ledger.record(mate, [potup(grower, 5, pot_size=second)])
    assert select(client.get(asked), "[name=pot_size] [selected]") == ["9 cm"]
    ledger.record(lot, [potup(grower, 5, pot_size=first)])
    assert select(client.get(asked), "[name=pot_size] [selected]") == ["7 cm"]


def codes(answer, selector=".list .code"):
    return select(answer, selector)


def test_the_round_leads_to_the_cells_and_to_the_pots(client, grower, bench, house):
    between = factories.stuck_lot(days=60, place=factories.place(name="2-01", walk_order=201))
    half = half_potted(bench, house, units=48)
    page = client.get(reverse("round"))
    assert codes(page) == [shown(half), shown(between), shown(half)]
    first, _between, last = select(page, ".list li")
    assert re.search(r"1-04 .*36 in cells .*its pots stand at 3-02", first)
    assert re.search(r"3-02 .*12 pots growing .*its cells stand at 1-04", last)
    assert re.search("^2 lots to look at.*is listed at both", select(page, "main p")[0])
    assert [(one.name, one.due) for one in walk.benches(walk.stops())] == [
        ("1", 1),
        ("2", 1),
        ("3", 1),
    ]
    assert codes(client.get(reverse("round"), {"bench": "3"})) == [shown(half)]
    # From its cells to what is between, from there to its pots, and round again.
    lot = reverse("lot", args=[half.code])
    assert shown(between) in select(client.get(lot), ".next")[0]
    [onward] = elements(client.get(reverse("lot", args=[between.code])), ".next")
    assert onward.get("href") == f"{lot}?at=pots"
    again = select(client.get(lot, {"at": "pots"}), ".next")[0]
    assert again.endswith(f"{shown(half)}, 1-04 (cells)")
    assert "1-04 (cells)" in select(client.get(reverse("today")), ".next")[0]


def test_whoever_stands_at_the_pots_logs_of_the_pots(client, grower, bench, house):
    lot = half_potted(bench, house)
    page = client.get(reverse("lot", args=[lot.code]), {"at": "pots"})
    links = [link.get("href") for link in elements(page, ".actions a, .buttons a")]
    assert f"{url(lot, 'check')}?at=pots" in links
    assert "12 are alive" in " ".join(select(client.get(url(lot, "check") + "?at=pots"), "form"))
    typed = {"looked_at": 12, "rooted": 11, "lost_rot": 1}
    answer = send(client, lot, "check", at="?at=pots", **typed)
    assert answer.url.endswith("?at=pots")
    lot.refresh_from_db()
    assert (lot.cells, lot.pots_lost, StrikeCheck.objects.get().whole_lot) == (36, 1, True)


def test_every_page_shows_both_places(client, grower, bench, house):
    lot = half_potted(bench, house, by=grower, flat=factories.flat(code="F7"))
    crumbs = select(client.get(reverse("lot", args=[lot.code])), ".crumbs")[0]
    assert crumbs == "cells: 1-04 flat F7 · pots: 3-02"
    for name in ("lots", "mine"):
        cells = " ".join(select(client.get(reverse(name)), "tbody td"))
        assert "1-04" in cells
        assert "3-02 (pots)" in cells
    for one, what in ((bench, "36 in cells"), (house, "12 pots growing")):
        [row] = select(client.get(reverse("place", args=[one.pk])), ".list li:has(.code)")
        assert what in row
        assert codes(client.get(reverse("lots"), {"place": one.pk}), "tbody .code") == [shown(lot)]
    assert select(client.get(reverse("places")), "td[data-label='Standing lots']") == ["1", "1"]


def test_a_lot_without_cells_stands_in_no_flat(client, grower, bench, house):
    flat = factories.flat(code="F7")
    lot, mate = (factories.stuck_lot(days=90, place=bench, flat=flat) for _ in range(2))
    ledger.record(lot, [potup(grower, 48)])
    page = client.get(reverse("lot", args=[lot.code]))
    assert select(page, ".crumbs") == ["1-04"]
    assert not elements(client.get(url(lot, "move")), "[name=whole_flat]")
    assert not elements(client.get(url(mate, "move")), "[name=whole_flat]")


def test_more_lots_take_no_more_queries(client, grower, bench, house):
    flat = factories.flat()
    lot = half_potted(bench, house, flat=flat)
    half_potted(bench, house, flat=flat)
    pages = [url(lot, "move"), reverse("round"), reverse("place", args=[house.pk]),
             reverse("lots"), reverse("lot", args=[lot.code])]  # fmt: skip
    before = [query_count(client, page) for page in pages]
    for _ in range(4):
        half_potted(bench, house, flat=flat)
    assert [query_count(client, page) for page in pages] == before
