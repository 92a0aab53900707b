"""The shipped fonts: as recorded, small, and measured as they are printed."""

import hashlib
import re

import pytest

from labels import fit, typeface
from labels.compose import MM_A_POINT
from labels.layout import draw
from labels.sheet import make
from labels.stock import LabelStock
from tests.labels.samples import letters, tag

README = (typeface.FOLDER / "README.md").read_text()
WIDE = LabelStock("wide", 200, 40, 200, 40)


def test_every_font_file_is_the_one_recorded():
    recorded = dict(re.findall(r"\| `([0-9a-f]{64})` \| `([^`]+)` \|", README))
    files = {path.name for path in typeface.FOLDER.iterdir()} - {"README.md"}
    assert set(recorded.values()) == files
    for checksum, name in recorded.items():
        assert hashlib.sha256((typeface.FOLDER / name).read_bytes()).hexdigest() == checksum


def test_the_fonts_stay_small():
    assert sum(path.stat().st_size for path in typeface.FOLDER.iterdir()) < 1_500_000


def test_what_is_lacking_is_named_once_each_in_order():
    assert typeface.lacks("Begonia 銀の銀 Žß × ночь Ω") == "銀の"
    assert typeface.drawable("銀 moth") == "? moth"


def test_a_letter_in_parts_counts_as_the_letter_in_one():
    assert typeface.lacks("Kůn\u030c") == ""
    assert typeface.drawable("n\u030c") == "ň"


@pytest.mark.parametrize(
    "name", ["'Silver Moth'", "'AVATAR Tower'", "'Žluťoučký Kůň'", "'Серебряная ночь'", "'Ωmega'"]
)
def test_measured_width_is_what_is_printed_and_never_less(name):
    """Kerning may draw letters together by a few per cent, and never sets them wider."""
    asked = tag(name=((name, False),), method="", count="", initials="", flat="", stuck_on=None)
    (text,) = [one for one in draw(asked, WIDE).texts if one.line[0][0] == name]
    measured = fit.width(text.line) * text.size * MM_A_POINT
    # The quotes stand at both ends of the name, and nowhere else on the tag.
    ends = [one for one in letters(make([asked], WIDE).pdf) if one[0] == "'"]
    printed = max(one[3] for one in ends) - min(one[2] for one in ends)
    assert 0.9 * measured < printed <= measured


def test_each_letter_is_taken_from_the_one_family_that_has_it_whole():
    """Or some versions of Pango make it of two that another family has."""
    latin, wider, cyrillic, _greek, vietnamese = typeface.FAMILIES
    assert typeface.by_family("Nắng ľ Ночь", "bold") == (
        (latin, "N"),
        (vietnamese, "ắ"),
        (latin, "ng "),
        (wider, "ľ"),
        (latin, " "),
        (cyrillic, "Ночь"),
    )
