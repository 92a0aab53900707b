"""A real server with the demo nursery, and a real browser to visit it with."""

import os
import shutil
import socket
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
PASSWORD = "browser-peat-browser"
PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
DESK = {"viewport": {"width": 1440, "height": 900}}
# The browser's loop goes on in this thread until the end, and Django takes whatever test comes
# after for a coroutine that must not ask the database.
ASYNC = "DJANGO_ALLOW_ASYNC_UNSAFE"
# Without the background flags Chromium knocks at its maker's door at every start.
QUIET = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-gpu",
]


def pytest_addoption(parser) -> None:
    parser.addoption("--take-pictures", action="store_true", help="of the hand-book, anew")


@dataclass(frozen=True)
class Nursery:
    """A demo nursery being served."""

    address: str
    data_dir: Path


@pytest.fixture(scope="session")
def nursery(migrated, tmp_path_factory) -> Iterator[Nursery]:
    folder = shutil.copytree(migrated, tmp_path_factory.mktemp("nursery") / "data")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    address = f"http://localhost:{port}"
    environment = os.environ | {"NURSERY_DATA_DIR": str(folder), "NURSERY_ADDRESS": address}
    for own in ("DJANGO_SETTINGS_MODULE", ASYNC):
        environment.pop(own, None)
    manage = [sys.executable, str(ROOT / "manage.py"), "demo"]
    server = subprocess.Popen(
        [*manage, "--port", str(port), "--lots", "200", "--password", PASSWORD],
        env=environment,
        stdout=subprocess.PIPE,
        text=True,
    )
    # The addresses are printed once the port is open.
    for line in server.stdout:
        if address in line:
            break
    else:
        pytest.fail("The demo did not start.")
    yield Nursery(address, folder)
    server.terminate()
    server.communicate(timeout=60)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright, pytest.MonkeyPatch.context() as patch:
        patch.setenv(ASYNC, "1")
        chromium = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=QUIET)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def visit(browser, nursery):
    """Open a context of a size, signed in as somebody or not; it is closed at the end."""
    opened: list[BrowserContext] = []

    def open_context(size: dict, who: str = "") -> Page:
        context = browser.new_context(base_url=nursery.address, locale="en-GB", **size)
        context.set_default_timeout(60_000)
        opened.append(context)
        page = context.new_page()
        page.faults = []
        page.on(
            "console",
            lambda message: page.faults.append(message.text) if message.type == "error" else None,
        )
        page.on("pageerror", lambda fault: page.faults.append(str(fault)))
        if who:
            page.goto("/sign-in/")
            sign_in(page, who)
        return page

    yield open_context
    for context in opened:
        context.close()


def rows_to_visit(page: Page) -> dict[str, str]:
    """A standing lot, a planned one, and the session of the planned one."""
    page.goto("/lots/?stage=stuck")
    lot = page.locator("tbody .code").first.inner_text().replace("-", "")
    page.goto("/lots/?stage=planned")
    planned = page.locator("tbody .code").first.inner_text().replace("-", "")
    page.goto(f"/lots/{planned}/")
    session = page.locator(".facts a[href^='/sessions/']").get_attribute("href")
    return {"lot": lot, "planned": planned, "session": session.strip("/").split("/")[-1]}


def sign_in(page: Page, who: str) -> None:
    page.get_by_label("Sign-in name").fill(who)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)
