"""Reading pages by selector, as a person finds things, and not by string."""

from functools import lru_cache

import tinyhtml5
from cssselect2 import ElementWrapper
from django.db import connection
from django.test.utils import CaptureQueriesContext


def select(response, selector: str) -> list[str]:
    """The text of every element of the response that the CSS selector matches."""
    return [" ".join("".join(found.itertext()).split()) for found in elements(response, selector)]


def elements(response, selector: str):
    """The elements of the response that the CSS selector matches (xml.etree elements)."""
    found = _root(response.content.decode()).query_all(selector)
    return [wrapper.etree_element for wrapper in found]


@lru_cache(maxsize=4)  # a test asks several things of one page
def _root(page: str) -> ElementWrapper:
    return ElementWrapper.from_html_root(tinyhtml5.parse(page, namespace_html_elements=False))


def query_count(client, url: str) -> int:
    """How many queries a page takes."""
    with CaptureQueriesContext(connection) as queries:
        assert client.get(url).status_code == 200
    return len(queries)
