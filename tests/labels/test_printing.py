"""Printing tags from the pages and from the command line."""

from io import StringIO

import pypdfium2
import pytest
import zxingcpp
from django.core.management import CommandError, call_command
from django.urls import reverse

from labels.models import Printing
from labels.stock import shipped
from lots import ledger
from tests import factories
from tests.labels.rows import label_stock, once_made, printer
from tests.labels.samples import symbols
from tests.pages import elements, query_count, select


def read(pdf: bytes) -> list[str]:
    """The addresses on a sheet, by an independent reader."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        picture = page.render(scale=300 / 72).to_numpy()
        found += [symbol.text for symbol in zxingcpp.read_barcodes(picture)]
    return sorted(found)


@pytest.fixture
def session(boss):
    session = factories.session()
    for _ in range(3):
        factories.planned_lot(session=session)
    ledger.not_stuck(factories.planned_lot(session=session))
    return session


def made(client, url: str, **chosen):
    """The page that follows on making a sheet with what the form holds and what is chosen."""
    fields = elements(client.get(url), "form#print [name]:not(button)")
    typed = {field.get("name"): field.get("value") for field in fields if field.tag == "input"}
    typed |= {"make": "1"} | chosen
    answer = client.post(url, {name: value for name, value in typed.items() if value is not None})
    assert answer.status_code == 302
    return once_made(client, answer)


def codes_of(session):
    return sorted(session.lots.exclude(stage="not stuck").values_list("code", flat=True))


def test_every_page_leads_to_tags_by_the_form_that_records_who_printed(client, session):
    """The PDFs that a GET gives are for other programs: no page offers them."""
    lot, plant = session.lots.earliest("pk"), factories.stock_plant()
    for noun, key in (("session", session.pk), ("lot", lot.code), ("stock-plant", plant.pk)):
        to_print = reverse(f"{noun}-print", args=[key])
        links = elements(client.get(reverse(noun, args=[key])), "a[href]")
        assert to_print in {link.get("href") for link in links}
        on_the_form = elements(client.get(to_print), "a[href]")
        assert not any("pdf" in link.get("href") for link in [*links, *on_the_form])
        assert "pdf" in made(client, to_print).content.decode()
    assert Printing.objects.count() == 3


def test_the_sheet_of_a_session_carries_the_address_of_each_lot(client, session, settings):
    settings.NURSERY_ADDRESS = "http://192.168.1.20:8000"
    url = reverse("session-print", args=[session.pk])
    assert "Everything fits." in select(client.get(url), ".note")
    [link] = elements(made(client, url), "a[href$='tags.pdf']")
    answer = client.get(link.get("href"))
    assert answer["Content-Type"] == "application/pdf"
    expected = [f"HTTP://192.168.1.20:8000/T/{code}" for code in codes_of(session)]
    assert read(answer.content) == expected


def test_a_single_lot_prints_its_tag_again_in_copies(client, session):
    lot = session.lots.first()
    page = made(client, reverse("lot-print", args=[lot.code]), copies=3)
    [link] = elements(page, "a[href$='tags.pdf']")
    assert len(read(client.get(link.get("href")).content)) == 3


def test_without_an_address_of_its_own_the_page_warns(client, session, settings):
    settings.NURSERY_ADDRESS = ""
    page = client.get(reverse("session-print", args=[session.pk]))
    assert "If it changes" in select(page, ".note.wrong")[0]


def test_a_start_that_is_not_on_the_page_is_told(client, session):
    for name in ("session-print", "session-tags"):
        answer = client.get(reverse(name, args=[session.pk]), {"start": 99})
        assert answer.status_code == 422
        assert "24" in " ".join(select(answer, ".errorlist li, .note"))


def test_a_session_without_lots_has_no_sheet(client, boss):
    session = factories.session()
    answer = client.get(reverse("session-tags", args=[session.pk]))
    assert answer.status_code == 422
    assert "no tags" in select(answer, ".note")[0]


def test_what_does_not_fit_is_listed_by_lot_before_printing(client, boss):
    lot = factories.planned_lot(variety=factories.variety(cultivar="Ж" * 40))
    url = reverse("session-print", args=[lot.session_id])
    page = client.get(url, {"stock": "A4 sheet, 5 × 13 labels 38.1 × 21.2 mm"})
    assert f"{lot.code[:3]}-{lot.code[3:]}" in select(page, ".note.wrong li")[0]


def test_the_stocks_are_listed_with_the_qr_that_results(client, boss):
    page = client.get(reverse("labels"))
    assert len(elements(page, "tbody tr")) == len(shipped())
    assert "correction" in select(page, "tbody tr")[0]


def test_more_lots_take_no_more_queries(client, session):
    url = reverse("session-print", args=[session.pk])
    before = query_count(client, url)
    for _ in range(4):
        factories.planned_lot(session=session)
    assert query_count(client, url) == before


def test_a_grower_does_not_print(client, grower):
    lot = factories.planned_lot()
    for name in ("session-print", "session-tags"):
        assert client.get(reverse(name, args=[lot.session_id])).status_code == 403
    for name in ("lot-print", "lot-tag"):
        assert client.get(reverse(name, args=[lot.code])).status_code == 403
    assert client.get(reverse("labels")).status_code == 403


def test_signed_out_or_by_a_wrong_method_nothing_is_printed(client, session):
    url = reverse("session-print", args=[session.pk])
    assert client.put(url).status_code == 405
    assert client.post(reverse("session-tags", args=[session.pk])).status_code == 405
    assert client.get(reverse("session-print", args=[session.pk + 99])).status_code == 404
    client.logout()
    for name in ("session-print", "session-tags"):
        answer = client.get(reverse(name, args=[session.pk]))
        assert answer["Location"].startswith("/sign-in/")


def test_the_command_writes_the_same_sheet(session, tmp_path, settings):
    settings.NURSERY_ADDRESS = "https://book.example.org"
    out, stock = tmp_path / "tags.pdf", next(iter(shipped()))
    for session_id in (session.code, str(session.pk)):
        call_command("tags", session=session_id, stock=stock, out=out, stderr=StringIO())
        expected = [f"HTTPS://BOOK.EXAMPLE.ORG/T/{code}" for code in codes_of(session)]
        assert read(out.read_bytes()) == expected
    [first, *_rest] = codes_of(session)
    call_command("tags", lots=[first.lower()], stock=stock, out=out, stderr=StringIO())
    assert read(out.read_bytes()) == [f"HTTPS://BOOK.EXAMPLE.ORG/T/{first}"]


def test_the_command_records_who_printed_if_it_is_told(session, boss, tmp_path):
    given = {"session": session.code, "stock": next(iter(shipped())), "out": tmp_path / "x.pdf"}
    said = StringIO()
    call_command("tags", **given, stderr=said)
    assert "3 tags on 1 page: " in said.getvalue()
    assert "--by" in said.getvalue()
    assert not Printing.objects.exists()
    call_command("tags", **given, by=boss.username, stderr=said)
    printing = Printing.objects.get()
    assert (printing.by, printing.tags.count()) == (boss, 3)
    with pytest.raises(CommandError, match="no manager"):
        call_command("tags", **given, by=factories.person().username)


def test_the_command_lists_the_stocks_one_a_line(db):
    own, said = label_stock(), StringIO()
    call_command("tags", stocks=True, stdout=said)
    assert said.getvalue().splitlines() == [own.name, *shipped()]


def test_the_command_prints_on_an_own_stock_through_a_printer(session, tmp_path):
    own, shed = label_stock(), printer(offset_x=2)
    code = session.lots.first().code
    corners = []
    for name in (None, shed.name):
        out = tmp_path / "tags.pdf"
        call_command("tags", lots=[code], stock=own.name, printer=name, out=out, stderr=StringIO())
        corners.append(symbols(out.read_bytes())[0][0])
    assert corners[1] - corners[0] == pytest.approx(2, abs=0.01)
    with pytest.raises(CommandError, match="In the shed"):
        call_command("tags", lots=[code], stock=own.name, printer="attic", out=out)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"session": "S-none"}, "no session"),
        ({"lots": ["7K3QF2"]}, "no lot code"),
        ({"session": "S-none", "stock": "cardboard"}, "label stock"),
        ({"session": "S-none", "out": None}, "--out"),
    ],
)
def test_the_command_says_what_is_wrong(db, tmp_path, arguments, said):
    given = {"stock": next(iter(shipped())), "out": tmp_path / "x.pdf"} | arguments
    with pytest.raises(CommandError, match=said):
        call_command("tags", **given)
