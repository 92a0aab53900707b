"""Removing own label stocks and printers: asked first, and what was printed stays."""

import pytest
from django.urls import reverse

from labels.models import LabelStock, Printer, Printing
from tests import factories
from tests.labels.rows import filled, label_stock, printer
from tests.pages import elements, select

LABELS = reverse("labels")


@pytest.fixture
def pages(boss):
    """The page that removes an own stock, and the one that removes a printer."""
    return {
        LabelStock: reverse("label-stock-remove", args=[label_stock().pk]),
        Printer: reverse("printer-remove", args=[printer().pk]),
    }


@pytest.mark.parametrize("model", [LabelStock, Printer])
def test_it_is_asked_first_and_then_gone(client, pages, model):
    links = [link.get("href") for link in elements(client.get(LABELS), "td a")]
    assert links.count(pages[model]) == 1
    name = str(model.objects.get())
    assert name in select(client.get(pages[model]), "h1")[0]
    assert model.objects.exists()

    answer = client.post(pages[model])
    assert answer["Location"] == LABELS
    page = client.get(LABELS)
    assert f"{name} is removed." in select(page, ".messages li")
    assert name not in " ".join(select(page, "td, option"))
    assert client.post(pages[model]).status_code == 404
    [gone] = model.history.filter(history_type="-")
    assert gone.name == name


def test_what_was_printed_on_it_stays_and_can_be_printed_again(client, boss, pages):
    url = reverse("lot-print", args=[factories.planned_lot().code])
    chosen = {"stock": LabelStock.objects.get().name, "printer": Printer.objects.get().pk}
    client.post(url, filled(client.get(url)) | chosen | {"make": "1"})
    printing = Printing.objects.get()
    sheet = printing.sheet
    for page in pages.values():
        client.post(page)

    printing.refresh_from_db()
    assert (printing.stock_name, printing.sheet) == (chosen["stock"], sheet)
    shown = reverse("printing", args=[printing.uuid])
    assert chosen["stock"] in " ".join(select(client.get(shown), "dd"))
    again = client.get(reverse("printing-pdf", args=[printing.uuid]))
    assert again.content.startswith(b"%PDF")
    # The next print offers what there is, without a word about what is gone.
    assert client.get(url).status_code == 200


@pytest.mark.parametrize("model", [LabelStock, Printer])
def test_only_a_manager_removes(client, pages, model):
    assert client.put(pages[model]).status_code == 405
    client.force_login(factories.person())
    assert client.get(pages[model]).status_code == 403
    assert client.post(pages[model]).status_code == 403
    client.logout()
    assert client.post(pages[model]).status_code == 302
    assert model.objects.exists()


def test_a_stock_that_comes_with_the_book_is_not_removed(client, boss):
    assert not any("remove" in link.get("href") for link in elements(client.get(LABELS), "td a"))
