"""What the demo nursery grows, and who works there. Genera and epithets are real botany; every
cultivar, person, supplier and customer is made up.

How long things take and how much of them takes is common practice, no source: the nursery's own
plants are then drawn around it.
"""

from typing import NamedTuple

NURSERY = "Quillmoss Glasshouse"


class Course(NamedTuple):
    """How a crop group goes by one method, as a rule."""

    method: str
    share: float  # of the group's lots
    struck: float  # days from sticking until half is struck
    finished: float  # days from sticking until half is finished
    take: float  # share of units that come to something
    blind: float = 0.0  # share of the rest that roots and never shoots


class Kind(NamedTuple):
    """A crop group."""

    name: str
    genus: str
    prefix: str  # of its variety codes
    courses: list[Course]
    direct: float  # share of lots stuck straight into pots


KINDS = [
    Kind(
        "rex begonia",
        "Begonia",
        "RX",
        [
            Course("leaf wedge", 0.5, 36, 168, 0.68, 0.2),
            Course("whole leaf", 0.25, 33, 160, 0.75, 0.1),
            Course("leaf cone", 0.15, 40, 172, 0.62, 0.2),
            Course("vein piece", 0.1, 44, 180, 0.55, 0.3),
        ],
        0.0,
    ),
    Kind(
        "rhizomatous begonia",
        "Begonia",
        "RH",
        [
            Course("leaf wedge", 0.4, 34, 160, 0.74, 0.2),
            Course("rhizome section", 0.35, 27, 126, 0.86),
            Course("petiole", 0.25, 31, 150, 0.8, 0.2),
        ],
        0.0,
    ),
    Kind(
        "cane begonia",
        "Begonia",
        "CA",
        [
            Course("tip cutting", 0.7, 23, 104, 0.88),
            Course("stem section", 0.3, 28, 116, 0.8),
        ],
        0.1,
    ),
    Kind(
        "shrub begonia",
        "Begonia",
        "SH",
        [
            Course("tip cutting", 0.75, 24, 108, 0.86),
            Course("stem section", 0.25, 29, 120, 0.78),
        ],
        0.1,
    ),
    Kind("coleus", "Coleus", "CO", [Course("tip cutting", 1.0, 12, 52, 0.95)], 0.6),
    Kind(
        "peperomia",
        "Peperomia",
        "PE",
        [
            Course("petiole", 0.6, 32, 150, 0.8, 0.35),
            Course("tip cutting", 0.4, 26, 112, 0.9),
        ],
        0.0,
    ),
    Kind(
        "streptocarpus",
        "Streptocarpus",
        "ST",
        [
            Course("vein piece", 0.75, 40, 170, 0.76, 0.15),
            Course("division", 0.25, 20, 92, 0.94),
        ],
        0.0,
    ),
    Kind(
        "plectranthus",
        "Plectranthus",
        "PL",
        [
            Course("tip cutting", 0.7, 14, 62, 0.93),
            Course("stem section", 0.3, 16, 70, 0.9),
        ],
        0.4,
    ),
]


class Sort(NamedTuple):
    """A variety."""

    kind: str
    species: str
    cultivar: str
    hybrid: bool = False
    protected: bool = False
    licence: str = ""
    note: str = ""


LICENSED = "grows under licence: report the number of pots each January"
SORTS = [
    Sort("rex begonia", "", "Ninth Umbrella"),
    Sort("rex begonia", "", "Soot and Sugar"),
    Sort("rex begonia", "", "Tin Cathedral"),
    Sort("rex begonia", "", "Clockmaker’s Supper"),
    Sort("rex begonia", "", "Marmalade Weather"),
    Sort("rex begonia", "", "Žluťoučký Měsíc"),
    Sort("rex begonia", "", "Owl in the Inkwell", protected=True, licence="QM-LIC-0107"),
    Sort("rex begonia", "", "The Long Apology of the Second Copper Kettle"),
    Sort("rex begonia", "", "Postman’s Eclipse"),
    Sort("rex begonia", "rex", ""),
    Sort("rhizomatous begonia", "masoniana", ""),
    Sort("rhizomatous begonia", "heracleifolia", ""),
    Sort("rhizomatous begonia", "erythrophylla", "", hybrid=True),
    Sort("rhizomatous begonia", "", "Moth Parliament"),
    Sort("rhizomatous begonia", "", "Slow Staircase"),
    Sort("rhizomatous begonia", "", "Pocket Thundercloud"),
    Sort("rhizomatous begonia", "", "Ünal’s Teacup"),
    Sort("cane begonia", "maculata", ""),
    Sort("cane begonia", "", "Ladder to Tuesday"),
    Sort("cane begonia", "", "Polite Giraffe"),
    Sort("cane begonia", "", "Borrowed Parasol", protected=True, note="no licence yet: asked for"),
    Sort("cane begonia", "", "Sixteen Herons"),
    Sort("shrub begonia", "metallica", ""),
    Sort("shrub begonia", "scharffii", ""),
    Sort("shrub begonia", "thurstonii", "", hybrid=True),
    Sort("shrub begonia", "", "Badger’s Waistcoat"),
    Sort("coleus", "scutellarioides", "Quarrel of Parrots"),
    Sort("coleus", "scutellarioides", "Rust Never Naps"),
    Sort("coleus", "scutellarioides", "Lime Telegram"),
    Sort("coleus", "scutellarioides", "Gala Curtain Call", protected=True, licence="QM-LIC-0112"),
    Sort("coleus", "scutellarioides", "Velvet Tollbooth"),
    Sort("coleus", "scutellarioides", "Beetroot Opera"),
    Sort("peperomia", "argyreia", ""),
    Sort("peperomia", "obtusifolia", ""),
    Sort("peperomia", "caperata", "Crumpled Sonata"),
    Sort("peperomia", "caperata", "Rained-on Velvet"),
    Sort("peperomia", "caperata", "Walnut Gossip"),
    Sort("streptocarpus", "", "Violet Alibi"),
    Sort("streptocarpus", "", "Paper Trombone"),
    Sort("streptocarpus", "", "Eleven Blue Kites"),
    Sort("streptocarpus", "", "Crème de Brouillard"),
    Sort("plectranthus", "verticillatus", ""),
    Sort("plectranthus", "ciliatus", "Sleepy Lamplighter"),
    Sort("plectranthus", "oertendahlii", "Frost on the Ledger"),
    Sort("plectranthus", "saccatus", ""),
]

# sign-in name, name, initials, is a manager
PEOPLE = [
    ("grower", "Tamsin Okoro", "TO", False),
    ("manager", "Henrik Valdane", "HV", True),
    ("mirela", "Mirela Sandou", "MS", False),
    ("jun", "Jun Achterveld", "JA", False),
    ("odalys", "Odalys Finchley", "OF", False),
    ("petra", "Petra Lindrao", "PL", True),
    ("bram", "Bram Oyelund", "BO", False),
]

SUPPLIERS = ["Fernhollow swap table", "Tarnside plant fair", "Old Bellows collection"]
CUSTOMERS = [
    "Saturday market",
    "garden gate",
    "Tollen Bridge flower shop",
    "Plum Street florist",
    "Harrowick plant fair",
    "Seven Stiles tea garden",
    "post order",
]
MEDIA = ["fine bark and perlite 1:1", "peat-free plug mix", "perlite and coir 2:1"]
DISINFECTANTS = ["alcohol 70 %", "as the label says: quaternary ammonium", ""]
HORMONE = "IBA powder, as the label says"
