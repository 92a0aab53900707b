"""Every page at both sizes: no accessibility fault, no fault in the console, nothing wider than
the screen; and what the phone's lot page weighs."""

from datetime import date, timedelta

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import DESK, PHONE, rows_to_visit

pytestmark = pytest.mark.xdist_group("browser")

PAGES = [
    "/",
    "/round/",
    "/due/",
    "/lots/",
    "/lots/?stage=&q=begonia",
    "/lots/{lot}/",
    "/lots/{lot}/check/",
    "/lots/{lot}/loss/",
    "/lots/{lot}/pot-up/",
    "/lots/{lot}/finish/",
    "/lots/{lot}/move/",
    "/lots/{lot}/leave/",
    "/lots/{lot}/correct/",
    "/lots/{planned}/",
    "/lots/{planned}/stick/",
    "/lots/{planned}/tag/",
    "/bench/check/",
    "/bench/pot-up/?bench=1",
    "/bench/move/?bench=1",
    "/flats/",
    "/flats/1/",
    "/flats/tags/",
    "/places/tags/",
    "/sessions/",
    "/sessions/new/",
    "/sessions/{session}/",
    "/sessions/{session}/change/",
    "/sessions/{session}/repeat/",
    "/sessions/{session}/trial/",
    "/sessions/{session}/tags/",
    "/sessions/{session}/worksheet/",
    "/sessions/{session}/lines/{planned}/",
    "/targets/",
    "/targets/paste/",
    "/plan/",
    "/week/",
    "/limits/",
    "/offer/",
    "/how-many/",
    "/how-many/?variety=1&want=60&by={in_a_year}&pot_size=3",
    "/availability/",
    "/forecasts/",
    "/changes/",
    "/changes/new/",
    "/methods/compare/",
    "/methods/compare/?group=1",
    "/trials/",
    "/trials/{trial}/",
    "/trials/1/",
    "/trials/2/",
    "/mine/",
    "/find/?code=7K3QF",
    "/varieties/",
    "/varieties/new/",
    "/varieties/1/",
    "/varieties/1/change/",
    "/stock/",
    "/stock/new/",
    "/stock/1/",
    "/stock/1/change/",
    "/stock/1/tag/",
    "/stock/tags/",
    "/methods/",
    "/methods/1/",
    "/methods/1/change/",
    "/places/",
    "/places/1/",
    "/places/1/change/",
    "/pot-sizes/",
    "/groups/",
    "/handbook/",
    "/words/",
    "/how-to/",
    "/how-to/check-a-bench/",
    "/start/",
    "/start/catalogue/",
    "/places/range/",
    "/lots/enter/",
    "/varieties/paste/",
    "/find/?code=be",
    "/labels/",
    "/labels/stocks/new/",
    "/labels/printers/new/",
    "/labels/wording/",
    "/data/",
    "/about/",
    "/people/",
    "/people/new/",
    "/people/1/",
    "/password/",
    "/pin/",
    "/change-person/",
    "/nowhere/",
]


@pytest.fixture(scope="module")
def names(visit) -> dict[str, str]:
    """A standing lot, a planned one, the session of the planned one, and a trial planned in it."""
    page = visit(DESK, "manager")
    found = rows_to_visit(page)
    trial = plan_trial(page, found["session"], found["planned"])
    in_a_year = (date.today() + timedelta(days=365)).isoformat()  # noqa: DTZ011 - any day does
    return found | {"trial": trial, "in_a_year": in_a_year}


def plan_trial(page, session: str, planned: str) -> str:
    """Plan a trial of the variety of a planned lot; its number."""
    page.goto(f"/sessions/{session}/lines/{planned}/")
    variety = page.get_by_label("Variety").input_value()
    page.goto(f"/sessions/{session}/trial/")
    typed = {
        "Question": "Bark or peat?",
        "Variety": variety,
        "Flats": "2",
        "Units of each arm": "24",
        "Cells in a row": "12",
    }
    for label, value in typed.items():
        page.get_by_label(label).fill(value)
    for n in range(2):
        page.get_by_label("Method").nth(n).select_option(index=1)
        page.get_by_label("Medium").nth(n).fill(["bark", "peat"][n])
    page.get_by_role("button", name="Draw the plan").click()
    page.wait_for_url("**/trials/*/")
    return page.url.strip("/").split("/")[-1]


NARROW = {"width": 320, "height": 640}
SIZES = {"phone": PHONE, "desk": DESK, "narrow phone": PHONE | {"viewport": NARROW}}


@pytest.fixture(scope="module", params=["phone", "desk"])
def page(request, visit):
    return visit(SIZES[request.param], "manager")


@pytest.fixture(scope="module", params=SIZES)
def charted(request, visit):
    return visit(SIZES[request.param], "manager")


# Rows of long lists beyond these are made alike, and take most of the time.
ALIKE = {"exclude": [["tbody tr:nth-child(n+5)"], [".list li:nth-child(n+5)"]]}


@pytest.mark.parametrize("path", PAGES)
def test_page_is_accessible_and_fits(page, names, path):
    page.faults.clear()
    page.goto(path.format(**names))
    results = Axe().run(page, ALIKE)
    assert results.violations_count == 0, results.generate_report()
    assert wider_than_the_screen(page) <= 0
    assert [fault for fault in page.faults if "404" not in fault] == []
    before = page.viewport_size
    if before["width"] < DESK["viewport"]["width"]:  # the narrowest phone
        page.set_viewport_size(NARROW)
        assert wider_than_the_screen(page) <= 0
        page.set_viewport_size(before)


CHARTED = ["/due/", "/availability/", "/forecasts/", "/methods/compare/?group=1"]
# The height of each shown word on the screen; words can stand upright.
HEIGHTS = """
    [...document.querySelectorAll(".chart > div")].map(drawing =>
        [...drawing.querySelectorAll("svg text")]
            .filter(text => text.getClientRects().length)
            .map(text => [parseFloat(getComputedStyle(text).fontSize), text.getScreenCTM()])
            .map(([size, turned]) => size * Math.hypot(turned.a, turned.b))
    ).filter(drawing => drawing.length)
"""


@pytest.mark.parametrize("path", CHARTED)
def test_what_a_chart_says_can_be_read(charted, path):
    """One of its two drawings is shown, its words no smaller than a phone's small print."""
    charted.goto(path)
    [heights] = charted.evaluate(HEIGHTS)
    assert min(heights) >= 11.5


def wider_than_the_screen(page) -> int:
    """By how many pixels the page would scroll sideways."""
    return page.evaluate("document.documentElement.scrollWidth - innerWidth")


def test_sign_in_page_is_accessible(visit):
    page = visit(PHONE)
    page.goto("/sign-in/")
    assert Axe().run(page).violations_count == 0


def test_the_phones_lot_page_is_light(visit, names):
    page = visit(PHONE, "grower")
    network = page.context.new_cdp_session(page)
    network.send("Network.enable")
    received = []
    network.on("Network.loadingFinished", lambda event: received.append(event["encodedDataLength"]))
    network.send("Network.clearBrowserCache")
    page.goto(f"/lots/{names['lot']}/", wait_until="networkidle")
    first = sum(received)
    received.clear()
    page.goto(f"/lots/{names['lot']}/", wait_until="networkidle")
    again = sum(received)
    assert 1000 < first < 60_000
    assert 1000 < again < 15_000
    targets = page.evaluate(
        """[...document.querySelectorAll('.actions a, .top a, .top button, .top summary')]
           .map(element => element.getBoundingClientRect().height).filter(height => height)"""
    )
    assert targets
    assert min(targets) >= 44
