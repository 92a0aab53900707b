"""Reading pages by selector, as a person finds things, and not by string."""

import tinyhtml5
from cssselect2 import ElementWrapper
from django.db import connection
from django.test.utils import CaptureQueriesContext


def select(response, selector: str) -> list[str]:
    """The text of every element of the response that the CSS selector matches."""
    return [" ".join("".join(found.itertext()).split()) for found in elements(response, selector)]


def elements(response, selector: str):
    """The elements of the response that the CSS selector matches (xml.etree elements)."""
    tree = tinyhtml5.parse(response.content.decode(), namespace_html_elements=False)
    root = ElementWrapper.from_html_root(tree)
    return [wrapper.etree_element for wrapper in root.query_all(selector)]


def query_count(client, url: str) -> int:
    """How many queries a page takes."""
    with CaptureQueriesContext(connection) as queries:
        assert client.get(url).status_code == 200
    return len(queries)
