"""The whole line, as people walk it: a session planned at the desk, tags printed, a tag scanned
with a phone, sticking confirmed, a check and a loss logged, found again by the manager."""

import re

import pypdfium2
import pytest
import zxingcpp
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PHONE, sign_in

pytestmark = pytest.mark.xdist_group("browser")


class Thumb:
    """A thumb on a phone that counts its taps and the numbers it types."""

    def __init__(self, page) -> None:
        self.page, self.taps, self.numbers = page, 0, 0

    def tap(self, found) -> None:
        found.tap()
        self.taps += 1

    def type(self, number: int) -> None:
        self.page.keyboard.type(str(number))
        self.numbers += 1


def plan_session(desk) -> str:
    """Plan a session for today with three lots; returns its address."""
    desk.goto("/sessions/")
    desk.get_by_role("link", name="New session").click()
    desk.get_by_label("Day").fill(desk.evaluate("new Date().toISOString().slice(0, 10)"))
    with desk.expect_navigation():
        desk.get_by_role("button", name="Save").click()
    for letters, flat in (("rex", "A1"), ("scharffii", "A1"), ("Beetroot", "A2")):
        desk.get_by_label("Variety").wait_for()
        desk.wait_for_load_state("load")  # htmx is deferred: it is ready by then
        desk.get_by_label("Variety").press_sequentially(letters)
        option = desk.locator("#varieties-found option").first
        option.wait_for(state="attached")
        desk.get_by_label("Variety").fill(option.get_attribute("value"))
        desk.get_by_label("Variety").press("Tab")
        desk.locator("#plants .chosen").wait_for()
        desk.get_by_label("Method").select_option(index=1)
        desk.get_by_label("Units", exact=True).fill("48")
        desk.get_by_label("Flat").fill(flat)
        with desk.expect_navigation():
            desk.get_by_role("button", name="Add", exact=True).click()
        desk.get_by_text("Added:").wait_for()
    return desk.url


def print_tags(desk) -> bytes:
    desk.get_by_role("link", name="Print the tags").click()
    desk.get_by_label("Label stock").select_option("A4 sheet, 3 × 8 labels 70 × 37 mm")
    desk.get_by_role("button", name="Check the sheet").click()
    desk.get_by_text("Before you print").wait_for()
    assert desk.get_by_text("Everything fits.").is_visible()
    desk.get_by_role("button", name="Make the PDF").click()
    # The PDF opens in a tab of its own, whose viewer keeps the file to itself.
    made = desk.get_by_role("link", name="Open the PDF").get_attribute("href")
    answer = desk.context.request.get(made)
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


def addresses_on(pdf: bytes) -> list[str]:
    """What an independent reader finds on the rendered sheet."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        picture = page.render(scale=300 / 72).to_numpy()
        found += [symbol.text for symbol in zxingcpp.read_barcodes(picture)]
    return found


def test_from_the_plan_to_the_strike_check(visit, nursery):
    desk = visit(DESK, "manager")
    session = plan_session(desk)
    codes = [code.replace("-", "") for code in desk.locator("tbody .code").all_inner_texts()]
    assert len(codes) == 3

    addresses = addresses_on(print_tags(desk))
    assert sorted(addresses) == sorted(f"{nursery.address.upper()}/T/{code}" for code in codes)

    phone = visit(PHONE)
    phone.goto(addresses[0])
    sign_in(phone, "grower")
    code = addresses[0][-6:]
    assert phone.url.endswith(f"/lots/{code}/")

    phone.get_by_role("link", name="Confirm sticking").tap()
    phone.get_by_label("Units stuck").fill("44")
    phone.get_by_role("button", name="Save").tap()
    phone.get_by_text("44 stuck").first.wait_for()

    phone.goto(addresses[0])
    thumb = Thumb(phone)
    thumb.tap(phone.get_by_role("link", name="Strike check"))
    expect(phone.get_by_label("Looked at")).to_be_focused()
    thumb.type(44)
    thumb.tap(phone.get_by_label("Held at the tug"))
    thumb.type(30)
    thumb.tap(phone.get_by_role("button", name="Save"))
    phone.get_by_text("Saved: 30 of 44 rooted").wait_for()
    assert (thumb.taps, thumb.numbers) == (3, 2)

    phone.get_by_role("link", name="Loss", exact=True).tap()
    phone.get_by_label("rot", exact=True).fill("30")
    phone.get_by_role("button", name="Save").tap()
    phone.get_by_text("Saved: 30 lost").wait_for()

    desk.goto("/")
    shown = f"{code[:3]}-{code[3:]}"
    logged = desk.locator("[aria-labelledby=logged] li", has_text=shown).all_inner_texts()
    assert any("30 of 44 held" in text for text in logged)
    assert any("Loss: 30" in text for text in logged)
    assert desk.locator("[aria-labelledby=looks-wrong]", has_text=shown).count() == 1
    desk.goto(f"/lots/{code}/")
    history = " ".join(desk.locator(".history").all_inner_texts())
    assert "30 of 44 held" in history
    assert re.search(r"Loss:\s+30 from cells, rot", history)
    assert "14\nalive in cells" in desk.locator(".counts").inner_text()

    desk.goto(session)
    assert desk.get_by_text("44 stuck, ").count() == 1
    assert desk.faults == phone.faults == []


def test_the_tag_of_a_line_taken_out_is_void_on_the_phone(visit, nursery):
    desk = visit(DESK, "manager")
    plan_session(desk)
    code = desk.locator("tbody .code").first.inner_text()
    desk.get_by_role("link", name=re.compile(f"Change.*{code}")).click()
    desk.get_by_role("button", name=re.compile("Take it out")).click()
    desk.get_by_text("its tag is void").wait_for()
    phone = visit(PHONE, "grower")
    phone.goto(f"/T/{code}")
    phone.get_by_text("This tag is void").wait_for()


def test_a_code_typed_by_hand_opens_the_lot_and_a_mistyped_one_is_told(visit):
    phone = visit(PHONE, "grower")
    phone.goto("/lots/")
    code = phone.locator("tbody .code").first.inner_text()
    phone.get_by_label("Find by code").fill(code.lower().replace("-", " "))
    phone.get_by_role("button", name="Find").tap()
    phone.wait_for_url(f"**/lots/{code.replace('-', '')}/")
    wrong = code[:-1] + ("0" if code[-1] != "0" else "1")
    phone.get_by_label("Find by code").fill(wrong)
    phone.get_by_role("button", name="Find").tap()
    phone.get_by_text("mistyped").wait_for()


def test_pots_are_filled_in_as_the_size_says_until_somebody_says_otherwise(visit):
    phone = visit(PHONE, "grower")
    phone.goto("/lots/?stage=stuck")
    phone.locator("tbody a").first.tap()
    phone.get_by_role("link", name="Pot up").tap()
    size, pots = phone.get_by_label("Pot size"), phone.get_by_label("Pots made")
    size.select_option(label="13 cm (3 a pot)")
    for units, filled in (("30", "10"), ("31", "10"), ("32", "11"), ("", "")):
        phone.get_by_label("Units from cells").fill(units)
        assert pots.input_value() == filled
    phone.get_by_label("Units from cells").fill("6")
    pots.fill("4")
    size.select_option(label="9 cm")
    assert pots.input_value() == "4"


def test_the_phone_pages_work_without_script(browser, nursery):
    context = browser.new_context(base_url=nursery.address, java_script_enabled=False, **PHONE)
    page = context.new_page()
    page.goto("/lots/")
    sign_in(page, "grower")
    page.locator("tbody a").first.tap()
    page.get_by_role("link", name="Strike check").tap()
    page.get_by_label("Looked at").fill("1")
    page.get_by_label("Held at the tug").fill("0")
    page.get_by_role("button", name="Save").tap()
    page.get_by_text("Saved: 0 of 1 rooted").wait_for()
    context.close()
