"""The book's own words are explained where they stand."""

import re
from pathlib import Path

import pytest
from django.urls import reverse

from lots.catalogue.words import WORDS
from tests import factories
from tests.pages import select

pytestmark = pytest.mark.django_db
TEMPLATES = Path(__file__).parents[3] / "templates"


def test_each_word_is_on_the_page_of_all(client, grower):
    page = client.get(reverse("words"))
    assert len(select(page, "dt")) == len(select(page, "dd")) == len(WORDS)


def test_pages_explain_only_words_that_there_are():
    asked = {
        key
        for path in TEMPLATES.rglob("*.html")
        for key in re.findall(r'{% explain "([\w-]+)" %}', path.read_text())
    }
    assert {"unit", "pieces", "least-struck", "band", "handbook", "from-memory"} <= asked
    assert asked <= WORDS.keys()


def test_where_a_person_hesitates_it_says_what_is_meant(client, boss):
    session = factories.session()
    page = select(client.get(reverse("session", args=[session.pk])), "details.explain")
    for key, text in zip(("unit", "pieces"), page, strict=True):
        assert str(WORDS[key][1]) in text
