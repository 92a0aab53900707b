"""Words in a room: none is lost, no line is too wide, and larger type is found where it fits."""

from hypothesis import given
from hypothesis import strategies as st

from labels import fit

names = st.lists(
    st.text("abcdefgilmnorst'ČžБж-", min_size=1, max_size=14), min_size=1, max_size=8
).map(" ".join)


def line(text: str) -> fit.Line:
    return ((text, "bold"),)


def text(parts) -> str:
    return " ".join("".join(piece for piece, _ in word.pieces) for word in parts)


@given(names, st.floats(1, 40))
def test_wrapping_keeps_every_word_and_no_line_is_too_wide(name, room):
    words = fit.words(line(name))
    lines = fit.wrap(words, room)
    if lines is None:
        assert max(word.width for word in words) > room
    else:
        assert " ".join(text(parts) for parts in lines) == name
        assert all(fit.width(fit.joined(parts)) <= room + 1e-9 for parts in lines)


@given(names, st.floats(2, 10))
def test_chopping_keeps_every_letter(name, room):
    words = fit.chop(fit.words(line(name)), room)
    assert text(words).replace(" ", "") == name.replace(" ", "")
    assert all(word.width <= room + 1e-9 for word in words)


@given(names, st.floats(3, 30), st.floats(1, 20))
def test_more_room_never_takes_more_lines(name, room, more):
    words = fit.words(line(name))
    narrow, wide = fit.wrap(words, room), fit.wrap(words, room + more)
    if narrow is not None:
        assert wide is not None
        assert len(wide) <= len(narrow)


def test_a_word_may_change_its_face_half_way():
    words = fit.words((("Begonia ", "bold-italic"), ("×", "bold"), ("hiemalis", "bold-italic")))
    assert [word.pieces for word in words] == [
        (("Begonia", "bold-italic"),),
        (("×", "bold"), ("hiemalis", "bold-italic")),
    ]


@given(st.floats(0, 1))
def test_the_largest_scale_is_found_to_a_step(limit):
    scale, found = fit.largest(lambda scale: scale if scale <= limit else None)
    assert scale == found
    assert limit - 1 / 9 - 1e-9 <= scale <= limit


def test_nothing_is_found_where_not_even_the_floor_fits():
    assert fit.largest(lambda scale: None) is None
