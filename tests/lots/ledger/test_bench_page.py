"""A bench at once: rows saved one by one as one goes or all together, each by itself; what is
refused stays as it was typed, and one undo takes all of it back."""

from uuid import uuid4

import pytest
from django.urls import reverse

from lots import ledger
from lots.models import Finish, Leave, Loss, Lot, Move, Photo, PotUp, StrikeCheck
from lots.worklists.chosen import key_of_part
from tests import factories
from tests.lots.ledger.test_photos import picture, upload
from tests.pages import elements, select

pytestmark = pytest.mark.django_db


@pytest.fixture
def place():
    return factories.place(name="3-01")


@pytest.fixture
def lots(place):
    by = factories.person()
    return [factories.stuck_lot(units=48, days=40, by=by, place=place) for _n in range(3)]


def address(verb, **query) -> str:
    words = "&".join(f"{name}={value}" for name, value in query.items())
    return reverse("bench", args=[verb]) + f"?{words}"


def keys(lots) -> list[str]:
    return [key_of_part(lot, lot.parts[0]) for lot in lots]


def sent(lots, *rows: dict, **more) -> dict:
    """What the page sends: each row's own number, and what is typed in some of them."""
    data = {"row": keys(lots)} | {f"{key}-uuid": str(uuid4()) for key in keys(lots)} | more
    for key, typed in zip(keys(lots), rows, strict=False):
        data |= {f"{key}-{name}": value for name, value in typed.items()}
    return data


def test_what_stands_at_a_place_is_a_row_each_with_what_is_expected(client, grower, place, lots):
    answer = client.get(address("check", place=place.pk))
    rows = select(answer, "form.bench li.one")
    assert len(rows) == 3
    for lot in lots:
        [row] = [row for row in rows if str(lot) in row]
        assert "day 40" in row
        assert "48 in cells" in row
        assert "strikes" in row
        assert "All 48 held" in row
        assert "None yet" in row
        assert "All 48 rotted" in row
    looked_at = elements(answer, "input[name$=looked_at]")
    assert [one.get("value") for one in looked_at] == ["48"] * 3


def test_all_that_is_typed_is_saved_and_one_undo_takes_it_back(client, grower, place, lots):
    data = sent(
        lots,
        {"looked_at": "48", "rooted": "40"},
        {"looked_at": "48", "rooted": "30", "lost_rot": "6"},
        {"looked_at": "48", "rooted": ""},
    )
    answer = client.post(address("check", place=place.pk), data)
    assert answer.status_code == 200
    assert "2 lots saved" in " ".join(select(answer, ".messages"))
    assert StrikeCheck.objects.count() == 2
    assert Lot.objects.get(pk=lots[1].pk).cells == 42
    assert "40 of 48 rooted" in " ".join(select(answer, "li.done"))
    [undo] = [link.get("href") for link in elements(answer, ".messages a")]
    client.post(undo, {"why": "wrong bench"})
    assert StrikeCheck.objects.filter(voided_at=None).count() == 0
    assert Loss.objects.filter(voided_at=None).count() == 0
    assert Lot.objects.get(pk=lots[1].pk).cells == 48


def test_the_same_form_sent_twice_is_stored_once(client, grower, place, lots):
    data = sent(lots, *[{"looked_at": "48", "rooted": "40", "lost_rot": "1"}] * 3)
    for _time in range(2):
        answer = client.post(address("check", place=place.pk), data)
        assert "3 lots saved" in " ".join(select(answer, ".messages"))
    assert StrikeCheck.objects.count() == Loss.objects.count() == 3


def test_a_row_that_is_refused_stays_as_typed_and_the_others_are_saved(client, grower, place, lots):
    data = sent(
        lots,
        {"looked_at": "48", "rooted": "47", "lost_rot": "50"},
        {"looked_at": "48", "rooted": "many"},
        {"looked_at": "48", "rooted": "12"},
    )
    answer = client.post(address("check", place=place.pk), data)
    assert answer.status_code == 422
    says = " ".join(select(answer, ".messages"))
    assert "1 lot saved" in says
    assert "2 lots are NOT saved" in says
    assert StrikeCheck.objects.count() == 1  # never half of a row
    assert Loss.objects.count() == 0
    wrong = select(answer, "li.wrong")
    assert len(wrong) == 2
    assert "48" in wrong[0]
    typed = {one.get("name"): one.get("value") for one in elements(answer, "li.wrong input")}
    first, second, _third = keys(lots)
    assert typed[f"{first}-lost_rot"] == "50"
    assert typed[f"{first}-rooted"] == "47"
    assert typed[f"{second}-rooted"] == "many"


def test_one_row_is_saved_by_its_own_button_and_the_rest_stays_typed(client, grower, place, lots):
    data = sent(
        lots,
        {"looked_at": "48", "rooted": "40"},
        {"looked_at": "48", "rooted": "30"},
        save=keys(lots)[0],
    )
    answer = client.post(address("check", place=place.pk), data)
    assert StrikeCheck.objects.get().lot == lots[0]
    typed = {one.get("name"): one.get("value") for one in elements(answer, "li.one input")}
    assert typed[f"{keys(lots)[1]}-rooted"] == "30"
    # With script only that row comes back.
    answer = client.post(
        address("check", place=place.pk),
        data | {"save": keys(lots)[1]},
        headers={"HX-Request": "true"},
    )
    [row] = elements(answer, "li")
    assert row.get("id") == keys(lots)[1]
    assert "30 of 48 rooted" in " ".join(row.itertext())
    assert elements(answer, "h1") == []


@pytest.mark.parametrize(
    ("quick", "rooted", "cells"), [("all", 48, 48), ("same", 0, 48), ("rotted", None, 0)]
)
def test_one_tap(client, grower, place, lots, quick, rooted, cells):
    data = sent(lots, *[{"looked_at": "48"}] * 3, save=f"{keys(lots)[0]}:{quick}")
    client.post(address("check", place=place.pk), data)
    checks = StrikeCheck.objects.filter(lot=lots[0])
    assert [check.rooted for check in checks] == ([] if rooted is None else [rooted])
    assert Lot.objects.get(pk=lots[0].pk).cells == cells


def test_no_change_says_again_what_held_last(client, grower, place, lots):
    client.post(address("check", place=place.pk), sent(lots, {"looked_at": "48", "rooted": "12"}))
    answer = client.get(address("check", place=place.pk))
    assert "No change: 12" in " ".join(select(answer, "li.one button"))
    data = sent(lots, {"looked_at": "48"}, save=f"{keys(lots)[0]}:same")
    client.post(address("check", place=place.pk), data)
    assert [check.rooted for check in StrikeCheck.objects.order_by("pk")] == [12, 12]


def test_losses_alone_are_no_check(client, grower, place, lots):
    client.post(address("check", place=place.pk), sent(lots, {"looked_at": "48", "lost_rot": "3"}))
    assert StrikeCheck.objects.count() == 0
    assert Loss.objects.get().units == 3


def test_a_flat_is_potted_up_and_moved_in_two_pages(client, grower, place, lots):
    flat, size, there = factories.flat(), factories.potsize(), factories.place(name="4-01")
    for lot in lots:
        lot.flat = flat
        lot.save()
    other = factories.stuck_lot(units=10, place=place)
    answer = client.get(address("pot-up", flat=flat.pk))
    assert len(select(answer, "li.one")) == 3
    assert str(other) not in " ".join(select(answer, "li.one"))
    data = sent(
        lots,
        {"units": "40"},
        {"units": "48", "pots": "48"},
        {"units": "48", "pots": "480"},
        pot_size=size.pk,
        place=there.pk,
    )
    answer = client.post(address("pot-up", flat=flat.pk), data)
    assert PotUp.objects.count() == 2
    assert Move.objects.count() == 2
    [yes] = [
        one for one in elements(answer, "li.wrong button") if ":sure-480" in one.get("value", "")
    ]
    client.post(address("pot-up", flat=flat.pk), data | {"save": yes.get("value")})
    third = Lot.objects.get(pk=lots[2].pk)
    assert third.pots_growing == 0  # 480 of 48 is more than there can be: the ledger has the word
    answer = client.get(address("move", flat=flat.pk))
    assert all(one.get("checked") is not None for one in elements(answer, "input[name$=-go]"))
    assert [str(lots[0]) in row for row in select(answer, "li.one")].count(True) == 1


def test_finish_and_leave_and_move(client, grower, place, lots):
    size, there = factories.potsize(), factories.place(name="4-01")
    client.post(
        address("pot-up", place=place.pk), sent(lots, *[{"units": "48"}] * 3, pot_size=size.pk)
    )
    client.post(address("finish", place=place.pk), sent(lots, *[{"pots": "20"}] * 2))
    assert [one.pots for one in Finish.objects.all()] == [20, 20]
    data = sent(lots, {"pots": "5"}, way="sold", to="market")
    client.post(address("leave", place=place.pk), data)
    assert (Leave.objects.get().pots, Leave.objects.get().to) == (5, "market")
    answer = client.post(address("move", place=place.pk), sent(lots, {"go": "1"}))
    assert "NOT saved" in " ".join(select(answer, ".messages"))  # no place was chosen
    assert answer.status_code == 422
    client.post(
        address("move", place=place.pk), sent(lots, {"go": "1"}, {"go": "1"}, place=there.pk)
    )
    assert [Lot.objects.get(pk=lot.pk).place for lot in lots] == [there, there, place]


def test_ticked_lots_and_what_is_due(client, grower, place, lots):
    answer = client.get(address("check", lot=lots[0].code) + f"&lot={lots[2].code}")
    assert len(select(answer, "li.one")) == 2
    answer = client.get(address("check", due=1))
    assert answer.status_code == 200
    assert client.get(reverse("bench", args=["check"])).status_code == 200
    answer = client.get(address("check", bench=3))
    assert len(select(answer, "li.one")) == 3


def test_nothing_typed_is_told(client, grower, place, lots):
    answer = client.post(address("check", place=place.pk), sent(lots))
    assert "nothing is saved" in " ".join(select(answer, ".messages"))
    data = sent(lots, save=keys(lots)[0])
    answer = client.post(address("check", place=place.pk), data)
    assert "Nothing is typed in this row" in " ".join(select(answer, "li.wrong"))


@pytest.mark.parametrize("query", ["?place=999", "?flat=x", "?bench="])
def test_what_is_not_there_is_said(client, grower, query):
    answer = client.get(reverse("bench", args=["check"]) + query)
    assert answer.status_code == 404
    assert "no such flat, place or bench" in " ".join(select(answer, "main"))


def test_a_lot_at_two_places_is_two_rows_each_of_its_own_part(client, grower, place, lots):
    size, there = factories.potsize(), factories.place(name="4-01")
    client.post(
        address("pot-up", place=place.pk),
        sent(lots, {"units": "20"}, pot_size=size.pk, place=there.pk),
    )
    lot = Lot.objects.get(pk=lots[0].pk)
    answer = client.get(address("check", lot=lot.code))
    rows = select(answer, "li.one")
    assert len(rows) == 2
    assert "All 28 held" in rows[0]
    assert "All 20 held" in rows[1]
    pots = key_of_part(lot, lot.parts[1])
    data = {"row": [pots], f"{pots}-uuid": str(uuid4()), "save": f"{pots}:rotted"}
    client.post(address("check", lot=lot.code), data)
    lot.refresh_from_db()
    assert (lot.cells, lot.pots_growing, lot.pots_lost) == (28, 0, 20)


def test_another_time_is_that_of_every_row(client, grower, place, lots):
    when = ledger.moment_of(lots[0].stuck_on).strftime("%Y-%m-%dT%H:%M")
    data = sent(lots, *[{"looked_at": "48", "rooted": "1"}] * 3, observed_at=when)
    client.post(address("check", place=place.pk), data)
    assert {check.observed_at.strftime("%Y-%m-%d") for check in StrikeCheck.objects.all()} == {
        lots[0].stuck_on.isoformat()
    }
    answer = client.post(
        address("check", place=place.pk), sent(lots, {"rooted": "1"}, observed_at="yesterday")
    )
    assert answer.status_code == 422
    assert "NOT saved" in " ".join(select(answer, ".messages"))


def test_a_photo_comes_with_the_record_of_its_row(client, grower, place, lots, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    first, second, third = keys(lots)
    data = sent(lots, {"looked_at": "48", "rooted": "40"}, {"looked_at": "48", "rooted": "nine"})
    data |= {f"{key}-photo": upload(picture()) for key in (first, second, third)}
    answer = client.post(address("check", place=place.pk), data)
    assert answer.status_code == 422
    photo = Photo.objects.get()
    assert photo.lot == lots[0]
    assert photo.record == StrikeCheck.objects.get().uuid
    _first, refused, alone = select(answer, "li.one")
    assert "Choose the photo again" in refused
    assert "A photo goes with what was counted" in alone


def test_what_is_no_photo_is_told_in_its_row_and_nothing_of_it_is_saved(
    client, grower, place, lots
):
    data = sent(lots, {"looked_at": "48", "rooted": "40", "lost_rot": "2"})
    data[f"{keys(lots)[0]}-photo"] = upload(b"no picture")
    answer = client.post(address("check", place=place.pk), data)
    assert "can't be read as a photo" in select(answer, "li.wrong")[0]
    assert not StrikeCheck.objects.exists()
    assert not Loss.objects.exists()
