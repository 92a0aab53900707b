"""Tags as a book really has them: of lots, pots and stock plants, with short and long names."""

from datetime import date, timedelta

from labels.tag import Passport, Runs, Tag

GENERA = (
    "Begonia",
    "Plectranthus",
    "Peperomia",
    "Coleus",
    "Begonia rex-cultorum",
    "Бегония",
    "Βιγόνια",
)
CULTIVARS = (
    "Silver Moth",
    "Ånd",
    "Grand Duchess of the Meadows",
    "Žluťoučký Kůň",
    "Tide",
    "Серебряная ночь",
    "Nắng Ở Đồng",
    "Quiet Harbour Lantern",
)
METHODS = ("Leaf wedge", "Whole leaf", "Stem section", "Tip cutting with two nodes")
KINDS = 40
"""After so many, the kinds come round again, with other names and days."""

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def mixed(count: int, first: int = 0) -> list[Tag]:
    """So many tags, beginning with the `first` of `KINDS` that come in turn; no two are alike."""
    return list(map(_tag, range(first, first + count)))


def _tag(i: int) -> Tag:
    kind = ("lot", "pot", "lot", "stock plant", "lot")[i % 5]
    code = "".join(LETTERS[i * (7 + 2 * k) // 32**k % 32] for k in range(5)) + LETTERS[i % 32]
    common = {
        "name": _name(i),
        "code": f"RX-{i}" if kind == "stock plant" else code,
        "address": f"http://192.168.1.20:8000/T/{code}",
        "stuck_on": date(2026, 3, 2) + timedelta(days=5 * i),
        "notices": ("Harmful to pets and people if eaten.",) if i % 7 == 0 else (),
        "nursery": "Grown at Three Oaks" if i % 3 == 0 else "",
        "place": f"N{i % 4 + 1}-{i % 17 + 1:02d}" if kind != "pot" and i % 4 else "",
    }
    if kind == "stock plant":
        return Tag(**common, day_word="Since", method="Stock plant")
    if kind == "pot":
        passport = Passport("Plantenpaspoort", "NL-123456789", code, "NL") if i % 2 else None
        return Tag(**common, day_word="Potted", count="9 cm", passport=passport)
    return Tag(
        **common,
        method=METHODS[i % len(METHODS)],
        count=f"{24 + i % 60} × {1 + i % 3}",
        initials="MK",
        flat=f"B{i % 3}-{i % 40:02d}" if i % 11 else "",
    )


def _name(i: int) -> Runs:
    if i % 9 == 4:
        return (("Begonia masoniana", True),)
    return (
        (GENERA[i % len(GENERA)] + " ", True),
        (f"'{CULTIVARS[i % len(CULTIVARS)]}'", False),
    )
