"""What many lots cost: taps, numbers and pages for a bench, a flat, a name, and for the first hour
of a nursery with three hundred varieties."""

import re
import shutil
import sqlite3
import subprocess
import sys
import time
from contextlib import closing

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import DESK, PASSWORD, PHONE, ROOT, sign_in
from tests.browser.test_whole_line import Thumb, print_tags

pytestmark = pytest.mark.xdist_group("browser")
LOTS, VARIETIES = 14, 300


def asked(nursery, question: str, *words: str) -> list:
    with closing(sqlite3.connect(nursery.data_dir / "book.sqlite3")) as book:
        return book.execute(question, words).fetchall()


def pages_of(page) -> list[str]:
    """The pages that are opened from now on, not counting what only leads to one."""
    opened: list[str] = []

    def note(answer) -> None:
        if answer.request.resource_type == "document" and answer.status == 200:
            opened.append(answer.url)

    page.on("response", note)
    return opened


def test_a_bench_is_checked_on_one_page_with_a_number_a_lot(visit, nursery):
    phone = visit(PHONE, "grower")
    opened = pages_of(phone)
    phone.goto("/P/1")  # as its tag says
    thumb = Thumb(phone)
    rows = phone.locator("li.one")
    assert rows.count() >= LOTS
    thumb.tap(rows.first.get_by_label("Held"))
    for n in range(LOTS):
        row = rows.nth(n)
        expect(row.get_by_label("Held")).to_be_focused()
        thumb.type(1)
        phone.keyboard.press("Enter")
        row.get_by_text("✓ 1 of").wait_for()
    assert (thumb.taps, thumb.numbers) == (1, LOTS)
    assert opened == [phone.url]
    assert rows.locator("text=✓ 1 of").count() == LOTS
    assert phone.faults == []


def test_a_row_survives_a_lost_signal_and_is_stored_once(visit, nursery):
    phone = visit(PHONE, "grower")
    phone.goto("/bench/check/?bench=2")
    row = phone.locator("li.one").first
    row.get_by_label("Held").fill("1")
    phone.context.set_offline(True)
    row.get_by_role("button", name="Save").tap()
    phone.get_by_text("Not saved: the book was not reached").wait_for()
    assert row.get_by_label("Held").input_value() == "1"
    phone.context.set_offline(False)
    row.get_by_role("button", name="Save").tap()
    row.get_by_text("✓ 1 of").wait_for()
    code = row.locator(".code").inner_text().replace("-", "")
    stored = asked(
        nursery,
        "SELECT count(*) FROM lots_strikecheck s JOIN lots_lot l ON s.lot_id = l.id"
        " WHERE l.code = ? AND s.rooted = 1 AND date(s.recorded_at) = date('now')",
        code,
    )
    assert stored == [(1,)]


def test_a_name_is_found_while_one_types(visit, nursery):
    phone = visit(PHONE, "grower")
    phone.goto("/")
    opened = pages_of(phone)
    box = phone.get_by_label("Find by code")
    box.press_sequentially("tin cath")
    phone.locator("#matches a").first.wait_for()
    phone.keyboard.press("ArrowDown")
    phone.keyboard.press("Enter")
    phone.wait_for_url("**/varieties/*/")
    assert len(opened) == 1
    box.press_sequentially("no such thing")
    phone.get_by_text("Nothing is called that").wait_for()
    phone.keyboard.press("Escape")
    expect(phone.locator("#matches")).to_be_hidden()
    assert phone.faults == []


def test_a_long_list_goes_on_by_itself(visit):
    desk = visit(DESK, "manager")
    desk.goto("/lots/?stage=")
    rows = desk.locator("tbody tr:not(.onward)")
    assert rows.count() == 50
    desk.locator("tr.onward").scroll_into_view_if_needed()
    expect(rows.nth(60)).to_be_attached()
    codes = desk.locator("tbody .code").all_inner_texts()
    assert len(set(codes)) == len(codes) > 60
    assert desk.faults == []


@pytest.fixture
def empty(migrated, tmp_path):
    """A server with an empty book and one manager; yields its address."""
    folder = shutil.copytree(migrated, tmp_path / "data")
    manage = [sys.executable, str(ROOT / "manage.py")]
    environment = {"NURSERY_DATA_DIR": str(folder), "PATH": "/usr/bin:/bin"}
    made = "from nursery.models import Person as P; p = P(username='manager', name='Mo', "
    made += f"initials='M', role='manager'); p.set_password('{PASSWORD}'); p.save()"
    subprocess.run([*manage, "shell", "-c", made], env=environment, check=True)
    server = subprocess.Popen(
        [*manage, "serve", "--host=127.0.0.1", "--port=0"],
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    line = server.stdout.readline()
    yield re.search(r"http://\S+?(?=/?\s)", line)[0].replace("127.0.0.1", "localhost")
    server.terminate()
    server.communicate(timeout=60)


def test_from_an_empty_book_to_the_first_tag(browser, empty):
    """Five forms; and three hundred varieties, each with its stock plant, in one of them."""
    desk = browser.new_context(base_url=empty, locale="en-GB", **DESK).new_page()
    desk.set_default_timeout(60_000)
    desk.goto("/sign-in/")
    sign_in(desk, "manager")
    forms: list[str] = []
    desk.on("request", lambda sent: forms.append(sent.url) if sent.method == "POST" else None)
    began = time.monotonic()
    desk.get_by_role("link", name="What you grow, and how").click()
    desk.get_by_role("button", name="Begin with these").first.click()
    desk.get_by_role("link", name="Varieties and their stock plants").click()
    names = [f"Begonia 'Moth No {n}'\trex begonia" for n in range(VARIETIES)]
    desk.get_by_label("Lines").fill("\n".join(names))
    desk.get_by_role("button", name="Look at it first").click()
    desk.get_by_role("button", name=f"Add {VARIETIES} varieties").first.click()
    desk.get_by_text(f"{VARIETIES} varieties are added, with {VARIETIES} stock plants").wait_for()
    desk.goto("/")
    desk.get_by_role("link", name="A sticking session").click()
    desk.get_by_role("button", name="Save").click()
    desk.get_by_label("Variety").fill("RB300")
    desk.get_by_label("Method").select_option("leaf wedge")
    desk.get_by_label("Units", exact=True).fill("48")
    desk.get_by_role("button", name="Add", exact=True).click()
    desk.locator("tbody .code").first.wait_for()
    session = desk.url
    planned = len(forms)
    assert print_tags(desk).startswith(b"%PDF")
    assert planned <= 5, forms
    assert time.monotonic() - began < 300
    desk.goto(session)
    assert desk.locator("tbody .code").count() == 1
    desk.context.close()
