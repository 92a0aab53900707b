"""The QR symbol: what it holds, how strong it is for its room, and when it is refused."""

import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from labels import qr

ADDRESS = "http://192.168.1.20:8000/T/7K3QF2"


def read(symbol: qr.Symbol, dots: int = 4) -> str:
    """What a reader makes of the matrix, with its quiet zone, at so many dots a square."""
    image = np.pad(np.where(symbol.matrix, 0, 255).astype(np.uint8), 4, constant_values=255)
    (code,) = zxingcpp.read_barcodes(np.kron(image, np.ones((dots, dots), np.uint8)))
    return code.text


def test_it_holds_the_address_in_upper_case():
    assert read(qr.symbol(ADDRESS, 20)) == "HTTP://192.168.1.20:8000/T/7K3QF2"


@given(st.from_regex(r"HTTPS?://[A-Z0-9.\-]{1,40}(:[0-9]{2,5})?/T/[0-9A-Z]{6}", fullmatch=True))
@settings(max_examples=60, deadline=None)
def test_any_address_is_read_back_though_the_mask_is_given(address):
    assert read(qr.symbol(address, 30)) == address


def test_characters_outside_the_alphanumeric_mode_are_kept():
    assert read(qr.symbol("http://[fe80::1]:8000/T/7K3QF2", 30)) == "HTTP://[FE80::1]:8000/T/7K3QF2"


@pytest.mark.parametrize(
    ("room", "level"),
    [
        (12.3, "H"),  # version 3 and the quiet zone are 37 modules: 12.21 mm at 0.33 mm
        (12.1, "M"),  # of version 2, 33 modules: 10.89 mm at 0.33 mm
        (10.9, "M"),
        (10.5, "M"),  # under 0.33 mm at every level: the largest module, of equals the strongest
        (8.3, "M"),  # 0.25 mm
    ],
)
def test_the_strongest_level_with_good_modules_is_taken(room, level):
    assert qr.symbol(ADDRESS, room).level == level


@given(st.floats(8.3, 40))
@settings(max_examples=50, deadline=None)
def test_the_symbol_fills_its_room_and_no_more(room):
    symbol = qr.symbol(ADDRESS, room)
    assert symbol.side_mm == pytest.approx(room)
    assert symbol.module_mm >= qr.LEAST_MM


def test_too_little_room_is_refused_with_the_room_that_would_do():
    with pytest.raises(qr.TooSmallError, match=r"at least 8\.2 mm .* a shorter address"):
        qr.symbol(ADDRESS, 8.0)
    assert qr.symbol(ADDRESS, 8.26).module_mm >= 0.25


def test_advice_says_what_results_and_what_would_be_better():
    strong = " ".join(qr.advice(ADDRESS, 20))
    assert "Version 3, 29 × 29 squares of 0.54 mm" in strong
    assert "Correction H" in strong
    assert "An address of at most 20 characters (this has 33)" in strong
    weak = " ".join(qr.advice(ADDRESS, 10))
    assert "With 12.2 mm of room for the QR it would be correction H" in weak
    assert "Squares under 0.33 mm are hard for a phone: 10.9 mm" in weak


def test_advice_names_characters_that_cost_room():
    assert "The address has _, which takes more room" in " ".join(
        qr.advice("http://my_nursery/T/7K3QF2", 20)
    )


def test_the_room_that_advice_promises_keeps_the_promise():
    assert qr.symbol(ADDRESS, 12.21).level == "H"
    assert qr.symbol("HTTP://A.B/T/7K3QF2", 20).module_mm == pytest.approx(20 / (25 + 8))
