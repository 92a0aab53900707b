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
        (lambda code: code[:-1] + "00", "7"),
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


def found(client, text: str) -> list[str]:
    """What the page that the button leads to shows, and the list below the box: the same."""
    page = client.get(reverse("find"), {"code": text})
    if page.status_code == 302:
        return []
    listed = client.get(reverse("find-matches"), {"code": text})
    links = [link.get("href") for link in elements(page, "main .list a")]
    assert [link.get("href") for link in elements(listed, "a")] == links
    return links


def test_the_box_finds_whatever_people_call_a_thing_by(client, lot):
    lot.code = "0AB00P"
    lot.save()
    variety = factories.variety(genus="Begonia", cultivar="Silver Barrel")
    plant = factories.stock_plant(code="SB-01", variety=variety)
    flat, session = factories.flat(code="F-SB"), factories.session(code="SB spring")
    place, beside = factories.place(name="Sb 1-01"), factories.place(name="Sb 1-02")
    person = factories.person(name="Sabine Sbarro", initials="SB", username="sabine")
    assert found(client, "silver bar") == []  # the only one there is, is opened
    assert client.get(reverse("find"), {"code": "silver bar"}).url == reverse(
        "variety", args=[variety.pk]
    )
    links = found(client, "sb")
    for one in (
        reverse("flat", args=[flat.pk]),
        reverse("stock-plant", args=[plant.pk]),
        reverse("session", args=[session.pk]),
        reverse("place", args=[place.pk]),
        reverse("place", args=[beside.pk]),
        reverse("bench", args=["check"]) + "?bench=Sb+1",
        reverse("lots") + f"?stage=&stuck_by={person.pk}",
    ):
        assert one in links
    assert client.get(reverse("find"), {"code": "OAB"}).url == reverse("lot", args=["0AB00P"])


def test_each_link_that_is_found_leads_somewhere(client, lot):
    factories.place(name="Be 1-01")
    factories.place(name="Be 1-02")
    factories.flat(code="Be-7")
    factories.variety(genus="Begonia", cultivar="Be One")
    for link in found(client, "be"):
        assert client.get(link).status_code == 200


def test_nothing_found_says_what_the_box_looks_for(client, lot):
    answer = client.get(reverse("find"), {"code": "no such thing"})
    assert answer.status_code == 404
    assert "parts of a variety’s name" in " ".join(select(answer, "main"))
    listed = client.get(reverse("find-matches"), {"code": "no such thing"})
    assert "Nothing is called that" in " ".join(select(listed, "p"))


def test_a_scanner_that_types_the_address_of_a_flat_opens_it(client, lot):
    flat = factories.flat(code="F 1")
    typed = {"code": "http://192.0.2.7:8000/F/F%201"}
    answer = client.get(reverse("find"), typed, follow=True)
    assert answer.redirect_chain[-1][0] == f"{reverse('bench', args=['check'])}?flat={flat.pk}"
