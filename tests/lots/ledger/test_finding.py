"""From a tag to its page: scanned, typed, mistyped."""

import pytest
from django.urls import reverse

from lots import codes
from tests import factories
from tests.pages import elements, select


@pytest.fixture
def lot(grower):
    return factories.stuck_lot()


def test_the_address_on_a_tag_opens_the_lot(client, lot):
    for start in ("/T/", "/t/"):
        for text in (lot.code, lot.code.lower(), codes.show(lot.code)):
            answer = client.get(f"{start}{text}")
            assert answer.url == reverse("lot", args=[lot.code])


def test_signed_out_a_tag_leads_over_the_sign_in_back_to_the_lot(client, lot):
    client.logout()
    answer = client.get(f"/T/{lot.code}")
    assert answer.url == f"{reverse('sign-in')}?next=/T/{lot.code}"
    sent = {"username": "grower", "password": factories.PASSWORD}
    answer = client.post(answer.url, sent | {"next": f"/T/{lot.code}"}, follow=True)
    assert answer.redirect_chain[-1][0] == reverse("lot", args=[lot.code])


@pytest.mark.parametrize("form", ["{}", " {} ", "http://192.0.2.7:8000/T/{}"])
def test_a_code_typed_or_sent_by_a_scanner_opens_the_lot(client, lot, form):
    for code in (lot.code, lot.code.lower(), codes.show(lot.code)):
        answer = client.get(reverse("find"), {"code": form.format(code)})
        assert answer.url == reverse("lot", args=[lot.code])


def test_the_lot_page_itself_reads_a_code_from_any_hand(client, lot):
    assert client.get(f"/lots/{codes.show(lot.code).lower()}/").status_code == 200


def other_last(code: str) -> str:
    return code[:-1] + next(c for c in codes.CROCKFORD if c != code[-1])


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        (lambda code: other_last(code), "mistyped"),
        (lambda code: code[:-1], "5"),
        (lambda code: "U" + code[1:], "without U"),
        (lambda code: "", "Type the code"),
    ],
)
def test_a_mistyped_code_is_told_and_kept(client, lot, typed, said):
    text = typed(lot.code)
    answer = client.get(reverse("find"), {"code": text})
    assert answer.status_code == 404
    assert said in select(answer, "#why")[0]
    assert (elements(answer, "#code")[0].get("value") or "") == text


def test_a_right_code_of_another_book_is_told_so(client, lot):
    code = codes.new_code()
    answer = client.get(f"/T/{code}")
    assert answer.status_code == 404
    assert codes.show(code) in select(answer, "#why")[0]


def test_the_tag_of_a_stock_plant_opens_it(client, lot):
    plant = factories.stock_plant(code="RX-01")
    assert client.get("/T/rx-01").url == reverse("stock-plant", args=[plant.pk])
