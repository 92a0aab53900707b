"""Choosing the first free label on the picture of the sheet, drawing a stock as it is typed, and a
large sheet that is made while nobody looks."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import DESK, PHONE, sign_in

pytestmark = pytest.mark.xdist_group("browser")

SHEET = "A4 sheet, 3 × 8 labels 70 × 37 mm"
ROLL = "Roll, labels 50 × 25 mm"


def open_tags(page) -> None:
    """The print page of the newest session, with a sheet chosen (the last stock is offered)."""
    page.goto("/sessions/")
    page.locator("main table a[href^='/sessions/']").first.click()
    page.get_by_role("link", name="Print the tags").click()
    page.get_by_label("Label stock").select_option(SHEET)
    page.get_by_role("button", name="Check the sheet").click()
    page.get_by_role("link", name="Start at label 24", exact=True).wait_for()


@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_a_click_on_the_picture_sets_the_first_free_label(visit, size):
    page = visit(size, "manager")
    open_tags(page)
    page.get_by_label("Copies").fill("2")
    page.get_by_role("link", name="Start at label 8", exact=True).click()
    page.locator(".sheet-picture .used").nth(6).wait_for()
    assert page.get_by_label("Start at label", exact=False).first.input_value() == "8"
    assert page.get_by_label("Copies").input_value() == "2", "what was typed is kept"
    assert page.locator(".sheet-picture .used").count() == 7
    assert Axe().run(page).violations_count == 0
    assert page.faults == []


def test_the_picture_works_without_script(browser, nursery):
    context = browser.new_context(base_url=nursery.address, java_script_enabled=False, **DESK)
    page = context.new_page()
    page.goto("/sign-in/")
    sign_in(page, "manager")
    open_tags(page)
    page.get_by_role("link", name="Start at label 5", exact=True).click()
    assert page.locator(".sheet-picture .used").count() == 4
    page.get_by_role("button", name="Make the PDF").click()
    page.wait_for_url("**/labels/prints/**")
    page.get_by_text("from label 5").wait_for()
    context.close()


def test_a_stock_is_drawn_as_it_is_typed(visit):
    page = visit(DESK, "manager")
    page.goto("/labels/")
    page.get_by_role("link", name="New label stock").click()
    page.get_by_label("Rows").wait_for()
    page.wait_for_load_state("load")
    page.get_by_label("Rows").fill("9")
    page.get_by_text("The rows overlap by 37.00 mm").wait_for()
    page.get_by_label("From one row to the next").fill("37")
    page.get_by_text("leaves the page at the bottom by 36.00 mm").wait_for()
    page.get_by_label("Rows").fill("8")
    page.get_by_text("Correction H").wait_for()
    assert page.locator(".sheet-picture .label").count() == 8
    page.get_by_label("inches").check()
    page.get_by_label("Rows").fill("9")
    page.get_by_text("leaves the page at the bottom by 36.000 in").wait_for()
    assert Axe().run(page).violations_count == 0
    assert page.faults == []


def test_a_large_sheet_is_made_while_nobody_looks(visit):
    page = visit(DESK, "manager")
    open_tags(page)
    page.get_by_label("Label stock").select_option(ROLL)
    page.get_by_label("Copies").fill("40")
    page.get_by_role("button", name="Make the PDF").click()
    page.wait_for_url("**/labels/prints/**")
    made = page.url
    if page.get_by_role("progressbar").count():
        assert Axe().run(page).violations_count == 0
    page.goto("/")
    page.goto(made)
    page.get_by_role("link", name="Open the PDF").wait_for(timeout=60_000)
    assert page.get_by_role("link", name="203 dpi").first.is_visible()
    assert Axe().run(page).violations_count == 0
    assert page.faults == []
