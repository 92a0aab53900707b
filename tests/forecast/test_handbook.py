import csv
from pathlib import Path

import pytest

from lots.forecast import handbook

MONTH = 365.25 / 12
ROWS = list(
    csv.DictReader(
        Path(handbook.__file__).with_name("handbook.csv").read_text(encoding="utf-8").splitlines()
    )
)
LEAF_METHODS = ["whole leaf", "leaf wedge", "leaf cone", "petiole", "vein piece", "leaf section"]


def middle(days):
    """Half of the lots are there by then, log days being normal."""
    return (days.low * days.high) ** 0.5


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['group']} {row['method']}".strip())
def test_a_row_is_sound(row):
    struck, finished = (
        [float(row[f"struck_{end}"]) for end in ("low", "high")],
        [float(row[f"finished_{end}"]) for end in ("low", "high")],
    )
    assert 3 < struck[0] < struck[1] < finished[1]
    assert struck[0] * 2 < finished[0] < finished[1]
    assert 0 < float(row["take_low"]) < float(row["take_high"]) < 1
    assert row["source_part"] in ("leaf", "stem", "rhizome", "crown", "root")
    assert row["grade"] in ("published", "common practice", "from memory")
    assert row["source"]


def test_no_row_is_there_twice():
    names = [(row["group"], row["method"], not row["group"] and row["source_part"]) for row in ROWS]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", [" Cane Begonias ", "Begonia (cane)", "cane begonia"])
def test_a_kind_is_proposed_whatever_the_case_plural_and_order_of_its_name(name):
    assert handbook.propose_kind(name) == "cane begonia"


@pytest.mark.parametrize(
    ("name", "method"),
    [("Tip cuttings", "tip cutting"), ("tip", "tip cutting"), ("Leaf bud", "leaf-bud")],
)
def test_a_method_is_proposed_by_its_name(name, method):
    assert handbook.propose_method(name) == method


@pytest.mark.parametrize("name", ["", "…", "cuttings", "orchid cactus"])
def test_a_name_that_it_does_not_know_is_like_nothing(name):
    assert handbook.propose_kind(name) == handbook.propose_method(name) == ""


def test_each_of_its_own_names_is_proposed_for_itself():
    assert [handbook.propose_kind(kind) for kind in handbook.kinds()] == list(handbook.kinds())
    known = list(handbook.methods())
    assert [handbook.propose_method(method) for method in known] == known


def test_a_row_says_its_grade_and_its_source():
    for row in (*handbook.rows(), *handbook.parts()):
        assert row.told.casefold().startswith(row.grade)
        assert row.source in row.told


def test_a_missing_row_falls_back_to_the_source_part_and_says_so():
    row = handbook.expect("orchid cactus", "tip cutting", "stem")
    assert row.fallback
    assert row.struck == handbook.expect_part("stem").struck
    assert not handbook.expect_part("stem").fallback


def test_an_unknown_source_part_is_named():
    with pytest.raises(ValueError, match="no source part 'flower': it has leaf, stem"):
        handbook.expect("orchid cactus", "bud", "flower")


@pytest.mark.parametrize("method", LEAF_METHODS)
@pytest.mark.parametrize("group", ["rex begonia", "rhizomatous begonia"])
def test_leaf_raised_begonias_finish_in_four_to_seven_months(group, method):
    """Common practice, no source: plantlets 1 to 2 months after sticking, a smaller saleable
    plant in 4 to 5 months, a larger one in 5 to 7."""
    row = handbook.expect(group, method, "leaf")
    assert row.struck.high <= 2 * MONTH
    assert middle(row.struck) >= 1 * MONTH
    assert row.finished.low >= 4 * MONTH
    assert row.finished.high <= 7 * MONTH


@pytest.mark.parametrize("group", ["cane begonia", "shrub begonia"])
def test_tips_of_upright_begonias_are_quicker_and_surer_than_leaves(group):
    """Common practice, no source; leaves of upright kinds mostly root and stay blind."""
    tip = handbook.expect(group, "tip cutting", "stem")
    leaf = handbook.expect(group, "petiole", "leaf")
    assert middle(tip.struck) < middle(leaf.struck)
    assert tip.finished.high < leaf.finished.low
    assert tip.take.low > leaf.take.high
    assert leaf.take.high < 0.5
