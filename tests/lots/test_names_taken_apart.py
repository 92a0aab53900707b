"""Written plant names in their parts, as the codes of nomenclature for plants and cultivated plants
have them written (from memory): genus with a capital, epithet without, × before that of a hybrid,
the cultivar in single quotation marks and each of its words with a capital."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lots.names import Name, plain, runs, taken_apart


@pytest.mark.parametrize(
    ("written", "expected", "parts"),
    [
        ("Begonia ‘Silver Moth’", "", ("Begonia", "", False, "Silver Moth")),
        ("Begonia rex 'Silver Moth'", "", ("Begonia", "rex", False, "Silver Moth")),
        ('Begonia "Silver Moth" ', "", ("Begonia", "", False, "Silver Moth")),
        ("Begonia 'Child's Play'", "", ("Begonia", "", False, "Child's Play")),
        ("Begonia × erythrophylla", "", ("Begonia", "erythrophylla", True, "")),
        ("Begonia x erythrophylla", "Begonia", ("Begonia", "erythrophylla", True, "")),
        ("B. 'Silver Moth'", "Begonia", ("Begonia", "", False, "Silver Moth")),
        ("begonia Silver Moth", "Begonia", ("Begonia", "", False, "Silver Moth")),
        ("Silver Moth", "Begonia", ("Begonia", "", False, "Silver Moth")),
        ("Silver moth", "Begonia", ("Begonia", "", False, "Silver moth")),
        ("'Silver Moth'", "Begonia", ("Begonia", "", False, "Silver Moth")),
        ("Coleus Lime Telegram", "", ("Coleus", "", False, "Lime Telegram")),
        ("Peperomia  obtusifolia", "", ("Peperomia", "obtusifolia", False, "")),
        ("Hoya pubicalyx var. alba", "", ("Hoya", "pubicalyx var. alba", False, "")),
        ("obtusifolia", "Peperomia", ("Peperomia", "obtusifolia", False, "")),
        ("Begonia", "Begonia", ("Begonia", "", False, "")),
        ("", "", ("", "", False, "")),
    ],
)  # fmt: skip
def test_a_written_name_has_its_parts(written, expected, parts):
    assert taken_apart(written, expected) == Name(*parts)


WORD = st.from_regex(r"[A-Z][a-z]{2,8}", fullmatch=True)
SMALL = st.from_regex(r"[a-z]{2,9}", fullmatch=True).filter(lambda word: word != "x")


@given(WORD, st.just("") | SMALL, st.booleans(), st.lists(WORD, max_size=3).map(" ".join))
def test_the_name_that_the_book_shows_is_read_as_it_was(genus, species, hybrid, cultivar):
    if not (species or cultivar):
        cultivar = "One"
    shown = plain(runs(genus, species, hybrid and bool(species), cultivar))
    assert taken_apart(shown) == Name(genus, species, hybrid and bool(species), cultivar)


@given(st.text(max_size=40), st.just("") | WORD)
def test_any_text_is_read(text, genus):
    found = taken_apart(text, genus)
    assert isinstance(found.genus, str)
    assert not {found.genus, found.species, found.cultivar} & {None}
