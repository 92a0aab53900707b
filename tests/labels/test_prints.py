"""A sheet is recorded when it is made, once, and shows on the pages of its lots and plants."""

import io

import pytest
import zxingcpp
from django.urls import reverse
from PIL import Image

from labels.models import PrintedTag, Printing
from labels.stock import shipped
from lots import ledger
from tests import factories
from tests.labels.rows import filled, once_made, printer
from tests.labels.samples import decoded, symbols
from tests.pages import elements, query_count, select

ROLL = "Roll, labels 50 × 25 mm"


@pytest.fixture
def lot(boss):
    return factories.stuck_lot(flat=factories.flat(code="B7"))


def url_of(lot) -> str:
    return reverse("lot-print", args=[lot.code])


def send(client, url, **typed):
    return client.post(url, filled(client.get(url), **{"make": "1"} | typed))


def picture_at(client, url) -> Image.Image:
    answer = client.get(url)
    assert answer["Content-Type"] == "image/png"
    picture = Image.open(io.BytesIO(answer.content))
    assert picture.mode == "1", "black or white, no grey to be dithered"
    return picture.convert("L")


def test_looking_records_nothing_and_making_does(client, lot, boss):
    client.get(url_of(lot))
    client.get(reverse("lot-tag", args=[lot.code]))
    client.post(url_of(lot), filled(client.get(url_of(lot)), check="1"))
    assert not Printing.objects.exists()
    answer = send(client, url_of(lot), copies="2")
    printing = Printing.objects.get()
    assert answer["Location"] == reverse("printing", args=[printing.uuid])
    assert printing.by == boss
    [tag] = printing.tags.all()
    assert (tag.lot, tag.kind, tag.copies) == (lot, "lot", 2)


def test_a_form_sent_twice_is_one_print(client, lot):
    sent = filled(client.get(url_of(lot)), make="1")
    first, second = client.post(url_of(lot), sent), client.post(url_of(lot), sent)
    assert first["Location"] == second["Location"]
    assert PrintedTag.objects.count() == 1


def test_a_reprint_shows_on_the_lot_with_who_and_when(client, lot, boss):
    page = reverse("lot", args=[lot.code])
    assert not select(client.get(page), ".printings li")
    send(client, url_of(lot))
    send(client, url_of(lot), copies="3")
    newest, oldest = select(client.get(page), ".printings li")
    assert boss.initials in oldest
    assert "3 copies" in newest
    client.force_login(factories.person())
    shown = client.get(page)
    assert len(select(shown, ".printings li")) == 2
    assert not elements(shown, ".printings a"), "only a manager opens the sheet"


def test_more_prints_take_no_more_queries_on_the_lots_page(client, lot):
    send(client, url_of(lot))
    page = reverse("lot", args=[lot.code])
    before = query_count(client, page)
    for _ in range(3):
        send(client, url_of(lot))
    assert query_count(client, page) == before


def test_a_stock_plant_has_a_tag_that_opens_its_page(client, boss, settings):
    settings.NURSERY_ADDRESS = "http://192.168.1.20:8000"
    plant = factories.stock_plant(code="REX-1")
    made = once_made(client, send(client, reverse("stock-plant-print", args=[plant.pk])))
    [link] = elements(made, "a[href$='tags.pdf']")
    [address] = decoded(client.get(link.get("href")).content, 300)
    assert address == "HTTP://192.168.1.20:8000/T/REX-1"
    answer = client.get(address.removeprefix("HTTP://192.168.1.20:8000"))
    assert answer["Location"] == reverse("stock-plant", args=[plant.pk])
    assert len(select(client.get(answer["Location"]), ".printings li")) == 1


def test_a_pot_tag_is_printed_for_each_pot(client, boss):
    lot = factories.stuck_lot(direct_pot_size=factories.potsize(), units=5)
    made = once_made(client, send(client, url_of(lot), kind="pot", per="pot"))
    [link] = elements(made, "a[href$='tags.pdf']")
    assert len(symbols(client.get(link.get("href")).content)) == 5


def test_a_lot_without_pots_has_no_tags_for_each_pot(client, lot):
    answer = send(client, url_of(lot), per="pot")
    assert answer.status_code == 422
    assert "no pots yet" in select(answer, ".field.wrong")[0]
    assert not Printing.objects.exists()


@pytest.mark.parametrize(
    ("typed", "at"),
    [
        ({"stock": "cardboard"}, "stock"),
        ({"start": "25"}, "start"),
        ({"copies": "0"}, "copies"),
        ({"kind": "pot", "per": "bench"}, "per"),
    ],
)
def test_what_is_typed_wrong_is_told_at_its_field_and_kept(client, lot, typed, at):
    answer = send(client, url_of(lot), **typed)
    assert answer.status_code == 422
    assert elements(answer, f".field.wrong [name={at}]")
    assert not Printing.objects.exists()


def test_lots_without_pots_are_named_and_have_no_pot_tag(client, boss):
    session = factories.session()
    planned = factories.planned_lot(session=session)
    into_pots = factories.planned_lot(
        session=session, direct_pot_size=factories.potsize(), planned_units=3
    )
    url = reverse("session-print", args=[session.pk])
    page = client.get(url, {"kind": "pot", "per": "pot"})
    assert any("No pots yet" in text and planned.code[:3] in text for text in select(page, "p"))
    send(client, url, kind="pot", per="pot")
    [tag] = PrintedTag.objects.all()
    assert (tag.lot, tag.copies) == (into_pots, 3)


def test_a_form_without_its_key_is_taken_all_the_same(client, lot):
    assert send(client, url_of(lot), uuid="").status_code == 302
    assert send(client, url_of(lot), uuid="none").status_code == 422


def test_so_many_labels_that_they_are_a_mistake_are_refused(client, boss):
    session = factories.session()
    for _ in range(11):
        factories.planned_lot(session=session)
    answer = send(client, reverse("session-print", args=[session.pk]), copies="500")
    assert answer.status_code == 422
    assert "5500" in select(answer, ".field.wrong")[0]


def test_the_last_stock_and_printer_are_offered_again(client, lot):
    shed = printer(offset_x=1.5, offset_y=-0.5)
    straight = client.get(reverse("lot-tag", args=[lot.code]), {"stock": ROLL}).content
    made = once_made(client, send(client, url_of(lot), stock=ROLL, printer=shed.pk))
    again = filled(client.get(url_of(lot)))
    assert (again["stock"], again["printer"]) == (ROLL, str(shed.pk))
    [link] = elements(made, "a[href$='tags.pdf']")
    nudged = symbols(client.get(link.get("href")).content)[0]
    moved = [b - a for a, b in zip(symbols(straight)[0], nudged, strict=True)]
    assert moved == pytest.approx([1.5, -0.5, 1.5, -0.5], abs=0.01)


def test_a_label_of_a_roll_comes_as_a_picture_that_reads(client, lot, settings):
    settings.NURSERY_ADDRESS = "http://192.168.1.20:8000"
    made = once_made(client, send(client, url_of(lot), stock=ROLL))
    links = [link.get("href") for link in elements(made, "a[download]")]
    assert len(links) == 3
    for link, dpi in zip(links, (203, 300, 600), strict=True):
        picture = picture_at(client, link)
        assert picture.size == pytest.approx((50 / 25.4 * dpi, 25 / 25.4 * dpi), abs=1)
        [code] = zxingcpp.read_barcodes(picture)
        assert code.text == f"HTTP://192.168.1.20:8000/T/{lot.code}"


def test_each_tag_on_a_roll_has_its_picture_once(client, boss):
    session = factories.session()
    codes = [factories.planned_lot(session=session).code for _ in range(3)]
    url = reverse("session-print", args=[session.pk])
    made = once_made(client, send(client, url, stock=ROLL, copies="2"))
    links = [link.get("href") for link in elements(made, "a[download]")[::3]]
    assert [link.rpartition("/")[2] for link in links] == [f"{n}.png?dpi=203" for n in (1, 3, 5)]
    found = [zxingcpp.read_barcodes(picture_at(client, link))[0].text[-6:] for link in links]
    assert found == codes


@pytest.mark.parametrize("asked", ["1.png?dpi=72", "2.png", "0.png"])
def test_a_picture_that_there_is_not_is_told(client, lot, asked):
    page = send(client, url_of(lot), stock=ROLL)["Location"]
    answer = client.get(page + asked)
    assert answer.status_code == 422
    assert "203, 300 or 600" in select(answer, ".note")[0]


def test_a_sheet_of_a_page_of_labels_offers_no_picture_to_a_label_printer(client, lot):
    made = once_made(client, send(client, url_of(lot)))
    assert not elements(made, "a[download]")


def test_prints_are_listed_with_the_labels(client, lot):
    send(client, url_of(lot))
    assert str(lot) in select(client.get(reverse("labels")), ".list li")[0]


def test_who_may_not_print_sees_no_sheet(client, lot):
    location = send(client, url_of(lot))["Location"]
    pages = [location, f"{location}tags.pdf", f"{location}1.png", url_of(lot)]
    plant = factories.stock_plant()
    pages += [reverse(name, args=[plant.pk]) for name in ("stock-plant-print", "stock-plant-tag")]
    client.force_login(factories.person())
    assert {client.get(page).status_code for page in pages} == {403}
    assert client.post(url_of(lot), {"make": "1"}).status_code == 403
    client.logout()
    assert {client.get(page).status_code for page in pages} == {302}
    assert client.get("/labels/prints/0/").status_code == 404


def test_a_sheet_is_only_looked_at(client, lot):
    location = send(client, url_of(lot))["Location"]
    for page in (location, f"{location}tags.pdf", f"{location}1.png"):
        assert client.post(page).status_code == 405
    assert client.get("/labels/prints/1f0d7a1e-0000-4000-8000-000000000000/").status_code == 404


def test_the_sheet_says_what_stood_then_though_the_lot_has_changed(client, lot):
    location = send(client, url_of(lot))["Location"]
    before = Printing.objects.get().order()
    lot.variety.cultivar = "Another Name"
    lot.variety.save()
    assert Printing.objects.get().order() == before
    assert client.get(f"{location}tags.pdf").status_code == 200


def test_a_tag_of_a_line_that_was_not_stuck_can_be_told_from_its_page(client, boss):
    lot = factories.planned_lot()
    send(client, url_of(lot))
    ledger.not_stuck(lot)
    assert len(select(client.get(reverse("lot", args=[lot.code])), ".printings li")) == 1


def test_shipped_stocks_are_offered(client, lot):
    offered = select(client.get(url_of(lot)), "[name=stock] option")
    assert offered == list(shipped())
