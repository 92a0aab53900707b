"""Ways of cutting that a new book can begin with, with their how-to cards (common practice, no
source)."""

from typing import NamedTuple

BLADE = "Blades cut deep: use a sharp one, cut away from yourself onto a board, and cap it."


class Way(NamedTuple):
    name: str
    part: str
    pieces: int  # from one leaf or shoot
    needs_shoot: bool
    how_to: str


WAYS = [
    Way(
        "whole leaf",
        "leaf",
        1,
        True,
        "Take a firm, full-grown leaf without marks. Turn it over, nick the thick veins where they "
        "fork, and lay it flat, right side up, on damp medium. Hold it down with pebbles so that "
        "every nick touches. Plantlets come at the nicks.\n" + BLADE,
    ),
    Way(
        "leaf wedge",
        "leaf",
        5,
        True,
        "Cut off the stalk, then cut the leaf into wedges, each with a main vein running down to "
        "its point. Stand each wedge point down, a third of it in the medium. Keep close and "
        "shaded until roots hold.\n" + BLADE,
    ),
    Way(
        "leaf cone",
        "leaf",
        1,
        True,
        "Trim away the outer half of the blade. Roll what is left round the stalk end into a "
        "cone and set it with the vein fork just under the surface. Many plantlets come in a "
        "ring.\n" + BLADE,
    ),
    Way(
        "petiole",
        "leaf",
        1,
        True,
        "Take the leaf with 2 to 3 cm of its stalk, cut aslant. Set it up to the blade, leaning "
        "back, in damp medium.\n" + BLADE,
    ),
    Way(
        "vein piece",
        "leaf",
        4,
        True,
        "Halve the leaf along its midrib, take the midrib out, and set each half cut edge down, "
        "1 cm deep, in rows. Plantlets come along the edge, one at each side vein.\n" + BLADE,
    ),
    Way(
        "tip cutting",
        "stem",
        1,
        False,
        "Cut a tip of two or three joints just below a joint. Take off the lowest leaves and any "
        "flower. Hormone powder, if used: as its label says, gloves on. Stick to the first "
        "leaf.\n" + BLADE,
    ),
    Way(
        "stem section",
        "stem",
        3,
        False,
        "Cut the stem into pieces of one or two joints, keeping which end was down. Stick with "
        "one joint under the surface.\n" + BLADE,
    ),
    Way(
        "rhizome section",
        "rhizome",
        3,
        False,
        "Cut the creeping stem into pieces of 4 to 6 cm, each with an eye. Let the cuts dry for "
        "an hour, then lay the pieces half sunk.\n" + BLADE,
    ),
    Way(
        "division",
        "crown",
        3,
        False,
        "Knock the plant out and pull it apart at its natural joints, cutting only what won't "
        "part. Every piece keeps roots and a growing point.\n" + BLADE,
    ),
]
