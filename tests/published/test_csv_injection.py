"""CSV injection: what a cell may not begin with, and two attacks, as published by OWASP
(owasp.org, community page "CSV Injection", read 2026)."""

import pytest

from lots.csvbook.cells import shield, unshield

NOT_AT_THE_START = ["=", "+", "-", "@", "\t", "\r", "\n"]
ATTACKS = ['=1+2";=1+2', "=1+2'\" ;,=1+2"]


@pytest.mark.parametrize("first", NOT_AT_THE_START)
def test_no_cell_begins_with_a_formula(first):
    assert shield(f"{first}1+2") == f"'{first}1+2"


@pytest.mark.parametrize("attack", ATTACKS)
def test_the_published_attacks_are_prefixed_and_come_back(attack):
    assert shield(attack) == f"'{attack}"
    assert unshield(shield(attack)) == attack
