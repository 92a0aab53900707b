"""The hand-book inside the app can't grow old: what its steps name stands on the pages they are
about, and its pictures show those pages as they are now."""

import json
import re
from io import BytesIO

import pytest
from PIL import Image

from lots.catalogue.jobs import JOBS, parts_of
from tests.browser.conftest import PHONE, ROOT, rows_to_visit

pytestmark = pytest.mark.xdist_group("browser")

PICTURES = ROOT / "static/how-to"
WORDS = ROOT / "tests/browser/pictured.json"
LARGEST = 40_000  # bytes
ALIKE = 0.8  # of the words of a picture stand on the page still
# The words of the page itself, not of the lots and days on it: those have numbers in them.
PARTS = "main :is(h2, label, button, summary, legend, th, .steps a)"
READ = """(parts) => [...document.querySelectorAll(parts)].map((one) => {
    const copy = one.cloneNode(true);
    copy.querySelectorAll(".visually-hidden, select, a").forEach((part) => part.remove());
    return copy.textContent.replace(/\\s+/g, " ").trim();
  }).filter((words) => words && !/[0-9]/.test(words))"""


@pytest.fixture(scope="module")
def page(visit):
    return visit(PHONE, "manager")


@pytest.fixture(scope="module")
def here(page):
    """An address of the hand-book with a lot, a planned lot and its session put in."""
    found = rows_to_visit(page)
    return lambda address: address.format(**found)


@pytest.mark.parametrize("name", JOBS)
def test_a_page_of_the_hand_book_and_the_pages_it_is_about(page, here, name, request):
    job = JOBS[name]
    for address in {step.at for step in job.steps} | {job.pictured}:
        if not address:
            continue
        answer = page.goto(here(address))
        assert answer.status == 200
        text = re.sub(r"\s+", " ", page.locator("main").text_content())
        for step in job.steps:
            if step.at == address:
                named = [says for says, written in parts_of(step.says) if written]
                assert [says for says in named if says not in text] == []
        if address == job.pictured:
            words = sorted(set(page.evaluate(READ, PARTS)))
            if request.config.getoption("--take-pictures", default=False):
                take(name, page.screenshot(), words)
            then = json.loads(WORDS.read_text())[name]
            assert then
            still = [word for word in then if word in words]
            assert len(still) >= ALIKE * len(then), "run python -m tests.browser.pictures"


@pytest.mark.parametrize("name", JOBS)
def test_a_job_has_a_light_picture_and_names_nothing_of_no_page(name):
    picture = PICTURES / f"{name}.webp"
    assert picture.stat().st_size < LARGEST
    with Image.open(picture) as image:
        assert image.size == (390, 844)
    for step in JOBS[name].steps:
        assert step.at or len(parts_of(step.says)) == 1


def take(name: str, shot: bytes, words: list[str]) -> None:
    """Keep a picture, and the words by which it is known whether it is still true."""
    PICTURES.mkdir(exist_ok=True)
    Image.open(BytesIO(shot)).convert("RGB").save(
        PICTURES / f"{name}.webp", "WEBP", quality=60, method=6
    )
    taken = json.loads(WORDS.read_text()) if WORDS.exists() else {}
    taken[name] = words
    WORDS.write_text(json.dumps(taken, indent=1, ensure_ascii=False, sort_keys=True) + "\n")
