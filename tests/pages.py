"""Reading pages by selector, as a person finds things, and not by string."""

from functools import lru_cache

import lxml.html
from django.db import connection
from django.test.utils import CaptureQueriesContext


def select(response, selector: str) -> list[str]:
    """The text of every element of the response that the CSS selector matches."""
    return [" ".join(found.text_content().split()) for found in elements(response, selector)]


def elements(response, selector: str) -> list[lxml.html.HtmlElement]:
    """The elements of the response that the CSS selector matches."""
    return _root(response.content.decode()).cssselect(selector)


@lru_cache(maxsize=4)  # a test asks several things of one page
def _root(page: str) -> lxml.html.HtmlElement:
    return lxml.html.document_fromstring(page if page.strip() else "<html></html>")


def query_count(client, url: str) -> int:
    """How many queries a page takes."""
    with CaptureQueriesContext(connection) as queries:
        assert client.get(url).status_code == 200
    return len(queries)
