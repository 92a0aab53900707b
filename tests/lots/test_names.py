"""Plant names as the cultivated-plant code writes them."""

import pytest

from lots import names


@pytest.mark.parametrize(
    ("parts", "plain", "italics"),
    [
        ({"genus": "Begonia", "species": "rex"}, "Begonia rex", ["Begonia rex"]),
        (
            {"genus": "Begonia", "cultivar": "Low Tide"},
            "Begonia ‘Low Tide’",
            ["Begonia"],
        ),
        (
            {"genus": "Begonia", "species": "corallina", "hybrid": True, "cultivar": "Low Tide"},
            "Begonia × corallina ‘Low Tide’",
            ["Begonia", "corallina"],
        ),
        (
            {"genus": "Begonia", "hybrid": True, "cultivar": "Low Tide"},
            "Begonia × ‘Low Tide’",
            ["Begonia"],
        ),
        (
            {"genus": "Coleus", "cultivar": "Kiln", "trade_name": "EMBERWORKS"},
            "Coleus ‘Kiln’ EMBERWORKS",
            ["Coleus"],
        ),
    ],
)
def test_what_is_set_in_italics_and_what_upright(parts, plain, italics):
    runs = names.runs(**parts)
    assert names.plain(runs) == plain
    assert [text for text, slanted in runs if slanted] == italics
