"""QR symbols against ISO/IEC 18004 and the figures that the symbol's inventor publishes.

Sizes, the worked example and the quiet zone: qrcode.com, "Information capacity and versions" and
"Point for setting the module size" (Denso Wave). Capacities: ISO/IEC 18004, table 7, checked with
two independent encoders.
"""

import pytest

from labels import qr

# Alphanumeric characters that versions 1 to 6 hold at each level.
ALPHANUMERIC = {
    1: {"L": 25, "M": 20, "Q": 16, "H": 10},
    2: {"L": 47, "M": 38, "Q": 29, "H": 20},
    3: {"L": 77, "M": 61, "Q": 47, "H": 35},
    4: {"L": 114, "M": 90, "Q": 67, "H": 50},
    5: {"L": 154, "M": 122, "Q": 87, "H": 64},
    6: {"L": 195, "M": 154, "Q": 108, "H": 84},
}
BYTES = {
    1: {"L": 17, "M": 14, "Q": 11, "H": 7},
    2: {"L": 32, "M": 26, "Q": 20, "H": 14},
    3: {"L": 53, "M": 42, "Q": 32, "H": 24},
    4: {"L": 78, "M": 62, "Q": 46, "H": 34},
    5: {"L": 106, "M": 84, "Q": 60, "H": 44},
    6: {"L": 134, "M": 106, "Q": 74, "H": 58},
}
CELLS = [(version, level) for version in ALPHANUMERIC for level in "LMQH"]

# What two independent encoders choose for a tag's address in one mode: L, M, Q, H.
VERSIONS = {
    "HTTP://192.168.1.20:8000/T/7K3QF2": "2 2 3 3",
    "HTTP://192.168.100.200:8000/T/7K3QF2": "2 2 3 4",
    "HTTP://NURSERY.LOCAL:8000/T/7K3QF2": "2 2 3 3",
}


@pytest.mark.parametrize(
    ("version", "side"), [(1, 21), (2, 25), (3, 29), (4, 33), (5, 37), (6, 41), (40, 177)]
)
def test_modules_a_side(version, side):
    assert qr.modules(version) == side


@pytest.mark.parametrize(("version", "level"), CELLS)
@pytest.mark.parametrize(("table", "letter"), [(ALPHANUMERIC, "A"), (BYTES, "_")])
def test_a_version_holds_exactly_its_capacity(table, letter, version, level):
    most = table[version][level]
    assert qr.version(letter * most, level) == version
    assert qr.version(letter * (most + 1), level) == version + 1


@pytest.mark.parametrize(("address", "versions"), VERSIONS.items())
def test_versions_of_tag_addresses(address, versions):
    assert " ".join(str(qr.version(address, level)) for level in "LMQH") == versions
    assert qr.version(address.lower(), "H") == int(versions[-1]), "it goes in upper case anyway"


def test_35_characters_are_the_most_for_version_3_at_the_strongest_level():
    assert qr.version("A" * 35, "H") == 3
    assert qr.version("A" * 36, "H") == 4


def test_the_45_alphanumeric_characters_are_those_of_the_standard():
    one_mode = qr.mode("A")
    found = {chr(c) for c in range(128) if qr.mode("A" + chr(c)) == one_mode}
    assert found - set("abcdefghijklmnopqrstuvwxyz") == set(
        "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
    )


def test_the_worked_example_of_a_symbols_size():
    """50 alphanumeric characters at level M: version 3; four dots of a 400 dpi printer a module."""
    module = 4 * 25.4 / 400
    version = qr.version("A" * 50, "M")
    assert version == 3
    assert module == pytest.approx(0.254)
    assert qr.modules(version) * module == pytest.approx(7.366)
    assert (qr.modules(version) + 2 * qr.QUIET) * module == pytest.approx(9.398)


def test_a_good_module_is_four_dots_of_a_300_dpi_printer():
    """The same source's table: 4 dots at 300 dpi are 0.33 mm (cut, not rounded), and 4 dots or
    more are advised."""
    assert int(4 * 25.4 / 300 * 100) / 100 == qr.GOOD_MM
