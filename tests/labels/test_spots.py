"""Tags of flats, places and benches: scanned, they open all that stands there on one page."""

from urllib.parse import urlsplit

import pypdfium2
import pytest
import zxingcpp
from django.urls import reverse

from tests import factories
from tests.pages import select

pytestmark = pytest.mark.django_db


def scanned(client, name: str, **asked) -> list[str]:
    """What the codes on the sheet say, read by an independent reader."""
    answer = client.get(reverse(name), {"copies": 1, **asked})
    assert answer.status_code == 200
    found = []
    for page in pypdfium2.PdfDocument(answer.content):
        found += zxingcpp.read_barcodes(page.render(scale=4).to_pil())
    return sorted(code.text for code in found)


def words(client, name: str) -> str:
    pdf = pypdfium2.PdfDocument(client.get(reverse(name)).content)
    return " ".join(page.get_textpage().get_text_range() for page in pdf)


def test_the_tag_of_a_flat_opens_what_stands_in_it(client, boss):
    lot = factories.stuck_lot(flat=factories.flat(code="F 07/b"), units=48)
    [text] = scanned(client, "flats-tags")
    answer = client.get(urlsplit(text).path, follow=True)
    assert str(lot) in " ".join(select(answer, "li.one"))
    assert "Flat" in words(client, "flats-tags")
    assert "F 07/b" in words(client, "flats-tags")


def test_places_have_tags_and_so_has_their_bench(client, boss):
    here = factories.place(name="North 04")
    beside = factories.place(name="North 05")
    lots = [factories.stuck_lot(place=place, units=48) for place in (here, beside)]
    bench, first, second = sorted(scanned(client, "places-tags"), key=len)[:3]
    for text, there in ((bench, lots), (first, lots[:1]), (second, lots[1:])):
        answer = client.get(urlsplit(text).path, follow=True)
        rows = " ".join(select(answer, "li.one"))
        assert [str(lot) in rows for lot in lots] == [lot in there for lot in lots]
    [own] = scanned(client, "places-tags", place=beside.pk)[-1:]
    assert own.endswith("NORTH%2005")


@pytest.mark.parametrize("address", ["/F/nothing", "/P/nowhere", "/p/9-99"])
def test_a_tag_of_another_book_is_told(client, grower, address):
    answer = client.get(address)
    assert answer.status_code == 404
    assert "in this book" in " ".join(select(answer, "main"))


@pytest.mark.parametrize("asked", ["x", "9" * 30, "999"])
def test_the_tag_of_none_is_none(client, boss, asked):
    answer = client.get(reverse("places-tags"), {"place": asked})
    assert answer.status_code == 422
    assert "no tags to print" in " ".join(select(answer, "main"))


def test_the_sheet_is_made_and_on_record(client, boss):
    factories.place(name="1-01")
    page = client.get(reverse("places-print"))
    assert "Everything fits" in " ".join(select(page, "main"))
    answer = client.post(reverse("places-print"), {"make": "1", "copies": 1}, follow=True)
    assert answer.redirect_chain[-1][0].startswith("/labels/prints/")
