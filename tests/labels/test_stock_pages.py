"""The nursery's own label stocks: typed in millimetres or inches, drawn, told when wrong."""

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from labels.models import LabelStock
from labels.stock import shipped
from tests import factories
from tests.labels.rows import SHEET, filled, label_stock, printer
from tests.labels.samples import said
from tests.pages import elements, query_count, select

NEW = "/labels/stocks/new/"
DRAW = "/labels/stocks/draw/"
STAKES = "Roll, pot stakes 127 × 16 mm"


def test_a_stock_is_entered_once_and_then_listed_first(client, boss):
    sent = filled(client.get(NEW), **SHEET)
    assert client.post(NEW, sent)["Location"] == reverse("labels")
    assert LabelStock.objects.get().measurements().pitch_x == 95
    assert select(client.get(reverse("labels")), "tbody td:first-child")[0] == SHEET["name"]
    again = client.post(NEW, sent)
    assert again.status_code == 422
    assert elements(again, ".field.wrong [name=name]")
    assert filled(again)["pitch_x"] == "95", "what was typed is kept"


def test_inches_are_kept_in_millimetres_and_shown_in_inches(client, boss):
    typed = {
        "name": "Address labels",
        "unit": "in",
        "page_width": "8.5",
        "page_height": "11",
        "columns": "3",
        "rows": "10",
        "label_width": "2.625",
        "label_height": "1",
        "left": "0.1875",
        "top": "0.5",
        "pitch_x": "2.75",
        "pitch_y": "1",
        "padding": "0.06",
    }
    assert client.post(NEW, filled(client.get(NEW), **typed)).status_code == 302
    row = LabelStock.objects.get()
    assert (row.page_width, row.label_width, row.left) == (215.9, 66.675, 4.7625)
    shown = filled(client.get(reverse("label-stock-change", args=[row.pk])))
    assert {name: shown[name] for name in typed} == typed


def test_what_is_wrong_is_told_in_the_unit_that_is_typed(client, boss):
    drawing = client.get(DRAW, SHEET | {"unit": "in", "pitch_x": "89.5", "page_width": "300"})
    told = " ".join(select(drawing, ".note.wrong li"))
    assert "overlap by 0.500 in: from one to the next is 89.5 in" in told
    assert "mm" not in told


def test_a_shipped_stock_is_copied_and_changed(client, boss):
    link = next(
        one.get("href")
        for one in elements(client.get(reverse("labels")), "td a")
        if "127" in one.get("href")
    )
    copied = client.get("/labels/" + link if link.startswith("?") else link)
    typed = filled(copied)
    assert typed["name"] == f"Copy of {STAKES}"
    assert (typed["page_width"], typed["free_right"]) == ("127", "30")
    client.post(NEW, typed | {"free_right": "25"})
    row = LabelStock.objects.get()
    assert row.free_right == 25
    change = reverse("label-stock-change", args=[row.pk])
    assert client.post(change, filled(client.get(change), rows="0")).status_code == 422
    client.post(change, filled(client.get(change), free_right="20"))
    row.refresh_from_db()
    assert row.free_right == 20
    assert "25.0" in " ".join(select(client.get(change), "main")), "its history shows"


@pytest.mark.parametrize(
    ("typed", "at", "sentence"),
    [
        ({"pitch_x": "85"}, "pitch_x", "overlap by 5.00 mm"),
        ({"pitch_y": ""}, "pitch_y", "overlap by 80.00 mm"),
        ({"left": "30"}, "columns", "leaves the page at the right by 5.00 mm"),
        ({"top": "60"}, "rows", "leaves the page at the bottom by 13.00 mm"),
        ({"label_width": "0"}, "label_width", "more than 0"),
        ({"free_left": "100"}, "label_width", "more than the label's width"),
        ({"name": STAKES}, "name", "comes with the book"),
        ({"page_width": "wide"}, "page_width", ""),
        ({"padding": "-1"}, "padding", ""),
        ({"unit": "cm"}, "unit", ""),
    ],
)
def test_what_is_wrong_is_told_at_its_field_with_its_amount(client, boss, typed, at, sentence):
    answer = client.post(NEW, filled(client.get(NEW), **SHEET) | typed)
    assert answer.status_code == 422
    wrong = [
        " ".join(field.itertext())
        for field in elements(answer, ".field.wrong")
        if field.find(f".//*[@name='{at}']") is not None
    ]
    assert wrong
    assert sentence in wrong[0]
    assert not LabelStock.objects.exists()


def test_the_button_draws_and_stores_nothing(client, boss):
    answer = client.post(NEW, filled(client.get(NEW), **SHEET) | {"draw": "1"})
    assert answer.status_code == 200
    assert len(elements(answer, "svg .label")) == 6
    assert "Version" in " ".join(select(answer, "#drawing p"))
    assert not LabelStock.objects.exists()


def test_the_drawing_follows_the_numbers_to_scale(client, boss):
    drawing = client.get(DRAW, SHEET)
    drawn = elements(drawing, "svg .label")
    second, third = ((one.get("x"), one.get("y"), one.get("width")) for one in drawn[1:3])
    assert second == ("105.0", "20.0", "90.0")
    assert third == ("10.0", "105.0", "90.0")
    wrong = client.get(DRAW, SHEET | {"pitch_x": "80"})
    assert "overlap by 10.00 mm" in select(wrong, ".note.wrong li")[0]
    assert len(elements(wrong, "svg .label")) == 6, "what is wrong is drawn too"
    assert not elements(client.get(DRAW, SHEET | {"page_width": ""}), "svg")
    assert not elements(client.get(DRAW, SHEET | {"rows": "100000"}), "svg")


@pytest.mark.django_db
@pytest.mark.parametrize(
    "wrong",
    [
        {"pitch_x": 85},
        {"pitch_y": 70},
        {"left": 30},
        {"top": 60},
        {"label_width": 0},
        {"rows": 0},
        {"corner": -1},
        {"unit": "cm"},
    ],
)
def test_the_database_holds_no_wrong_stock(wrong):
    with pytest.raises(IntegrityError), transaction.atomic():
        label_stock(**wrong)


@pytest.mark.django_db
@pytest.mark.parametrize("stock", shipped().values(), ids=shipped())
def test_the_database_takes_every_shipped_stock(stock):
    assert label_stock(**vars(stock)).measurements() == stock


def test_a_test_sheet_is_printed_for_a_stock_and_a_printer(client, boss):
    own, shed = label_stock(), printer(offset_x=3)
    page = client.get(reverse("labels"))
    assert own.name in select(page, "form [name=stock] option")
    given = {"stock": own.name, "printer": shed.pk}
    assert "First cross: 10 mm" in said(client.get("/labels/test-sheet.pdf", given).content)
    wrong = client.get("/labels/test-sheet.pdf", {"stock": "cardboard"})
    assert wrong.status_code == 422


def test_what_is_own_or_was_printed_last_stands_first_and_the_rest_is_folded_away(client, boss):
    def stood(where: str) -> list[str]:
        return select(client.get(reverse("labels")), f"{where} tbody td:first-child")

    in_book = list(shipped())
    assert stood("details") == in_book
    own, lot = label_stock(), factories.planned_lot()
    url = reverse("lot-print", args=[lot.code])
    client.post(url, filled(client.get(url)) | {"stock": in_book[2], "make": "1"})
    assert stood("main > .table")[:2] == [own.name, in_book[2]]
    assert stood("details") == [name for name in in_book if name != in_book[2]]


def test_more_stocks_and_printers_take_no_more_queries(client, boss):
    label_stock()
    printer()
    before = query_count(client, reverse("labels"))
    for n in range(3):
        label_stock(name=f"Sheet {n}")
        printer(name=f"Printer {n}")
    assert query_count(client, reverse("labels")) == before


def test_printers_are_entered_and_changed(client, boss):
    typed = {"name": "In the shed", "offset_x": "1.5", "offset_y": "-0.4", "scale_percent": "101"}
    assert client.post("/labels/printers/new/", typed)["Location"] == reverse("labels")
    assert "1.5 to the right, -0.4 down" in " ".join(select(client.get(reverse("labels")), "td"))
    again = client.post("/labels/printers/new/", typed)
    assert elements(again, ".field.wrong [name=name]")
    [link] = [
        one
        for one in elements(client.get(reverse("labels")), "td a")
        if "change" in one.get("href")
    ]
    far = client.post(link.get("href"), typed | {"offset_x": "200"})
    assert far.status_code == 422
    assert elements(far, ".field.wrong [name=offset_x]")
    assert client.post(link.get("href"), typed | {"offset_x": "2"}).status_code == 302
    assert "2 to the right" in " ".join(select(client.get(reverse("labels")), "td"))


def test_only_managers_enter_stocks_and_printers(client, boss):
    own, shed = label_stock(), printer()
    pages = [
        NEW,
        DRAW,
        reverse("label-stock-change", args=[own.pk]),
        reverse("printer-new"),
        reverse("printer-change", args=[shed.pk]),
        reverse("test-sheet"),
    ]
    assert client.get(reverse("label-stock-change", args=[own.pk + 9])).status_code == 404
    assert client.post(DRAW).status_code == 405
    assert client.put(NEW).status_code == 405
    client.force_login(factories.person())
    assert {client.get(page).status_code for page in pages} == {403}
    client.logout()
    assert {client.get(page).status_code for page in pages} == {302}
