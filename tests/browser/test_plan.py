"""From what is wanted to tags in the hand: twenty targets pasted, planned, made a session of, and
printed; and a target at risk that one more lot saves."""

import re
import sqlite3
import time
from contextlib import closing
from datetime import date, timedelta

import pypdfium2
import pytest

from tests.browser.conftest import DESK
from tests.browser.test_whole_line import print_tags

pytestmark = pytest.mark.xdist_group("browser")
THIS_WEEK = re.compile(r"Stick \d+ this week")


def lines(nursery) -> str:
    """Twenty targets of the varieties that may be stuck, as a spreadsheet copies them."""
    with closing(sqlite3.connect(nursery.data_dir / "book.sqlite3")) as book:
        codes = book.execute(
            "SELECT DISTINCT v.code FROM lots_variety v JOIN lots_stockplant p"
            " ON p.variety_id = v.id"
            " WHERE NOT v.protected AND p.pieces_per_cut IS NOT NULL ORDER BY v.code"
        ).fetchall()
        [size] = book.execute("SELECT name FROM lots_potsize ORDER BY diameter_cm").fetchone()
    some = [code for (code,) in codes][:20]
    days = [date.today() + timedelta(days=120 + 9 * n) for n in range(len(some))]  # noqa: DTZ011
    return "\n".join(
        f"{code}\t{size}\t20\t{day.isoformat()}\tbrowser fair"
        for code, day in zip(some, days, strict=True)
    )


def work_out(desk) -> None:
    """As long as it takes: a plan is a process of its own, beside whatever else is at work here."""
    desk.goto("/plan/")
    with desk.expect_navigation():  # to the page where it is: its address tells nothing
        desk.get_by_role("button", name="Work it out again").click()
    until = time.monotonic() + 90
    while desk.get_by_text("is being worked out").count():
        assert time.monotonic() < until, "the plan is still being worked out"
        desk.wait_for_timeout(500)
        desk.goto("/plan/")


def test_from_what_is_wanted_to_tags_and_a_target_saved(visit, nursery):
    desk = visit(DESK, "manager")
    desk.goto("/targets/paste/")
    typed = lines(nursery)
    desk.get_by_label("Lines").fill(typed)
    desk.get_by_role("button", name="Add them").click()
    desk.get_by_text("20 targets are added.").wait_for()
    work_out(desk)
    week = desk.locator("main section form").first
    assert week.get_by_role("checkbox").count() >= 1
    names = week.locator("tbody th a").all_inner_texts()

    # What has to be stuck this week is at risk until it is.
    desk.goto("/")
    risky = desk.locator("section:has(#at-risk) li").filter(has_text=THIS_WEEK)
    saved = risky.first.locator(".what").inner_text() if risky.count() else ""

    desk.goto("/plan/")
    week = desk.locator("main section form").first
    week.get_by_label("Stick on").fill(date.today().isoformat())  # noqa: DTZ011
    week.get_by_role("button", name="Make a session of what is ticked").click()
    desk.get_by_text("planned in this session").wait_for()
    rows = desk.locator("main table.stack tbody tr")
    assert rows.count() == len(names)
    codes = [code.replace("-", "") for code in rows.locator("td .code").all_inner_texts()]

    pdf = pypdfium2.PdfDocument(print_tags(desk))
    words = "".join(page.get_textpage().get_text_range() for page in pdf).replace("-", "")
    assert all(code in words for code in codes)

    work_out(desk)
    desk.goto("/")
    again = desk.locator("section:has(#at-risk) li").filter(has_text=THIS_WEEK)
    assert saved
    assert saved not in again.locator(".what").all_inner_texts()
