"""The check character of lot codes against published figures of ISO/IEC 7064 MOD 37,36.

`iso7064_checks.csv`: the first row is published in the documentation of python-stdnum 2.2
(`stdnum.iso7064.mod_37_36`), the others were computed with it.
"""

import csv
import random
from pathlib import Path

import pytest
from stdnum.iso7064 import mod_37_36

from lots import codes

with (Path(__file__).parent / "iso7064_checks.csv").open(newline="") as file:
    ROWS = list(csv.DictReader(line for line in file if not line.startswith("#")))


@pytest.mark.parametrize("row", ROWS, ids=[row["payload"] for row in ROWS])
def test_the_listed_check_characters(row):
    assert codes.check_character(row["payload"]) == row["mod37_36"]


def test_the_reference_library_agrees_on_random_payloads():
    for _ in range(5000):
        payload = "".join(random.choices(codes.MOD_37_36, k=random.randint(1, 12)))
        assert codes.check_character(payload) == mod_37_36.calc_check_digit(payload)


@pytest.mark.parametrize(("one", "other"), [("745R", "754R"), ("7V01", "7V10")])
def test_swaps_that_the_standard_itself_lets_through(one, other):
    """ISO/IEC 7064 promises nearly all swaps of neighbours, not all: these pairs are both valid,
    here as in the reference library."""
    assert mod_37_36.is_valid(one)
    assert mod_37_36.is_valid(other)
    assert codes.check_character(one[:-1]) == one[-1]
    assert codes.check_character(other[:-1]) == other[-1]
