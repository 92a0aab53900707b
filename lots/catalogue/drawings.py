"""Drawings of the handbook's ways of cutting: on the left what is cut and where, on the right how
the piece stands in its medium. Lines are SVG paths in a box of 340 by 130, with the surface of the
medium at 85; what the words say is common practice, no source."""

from typing import NamedTuple

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

BLADE = "M80 92C40 88 30 50 80 15C130 50 120 88 80 92Z"
VEINS = "M80 92V22M80 75L55 58M80 75L105 58M80 55L62 40M80 55L98 40"
STEM = "M80 118V20"


class Drawing(NamedTuple):
    """`leaf` is filled, `vein` and `stem` are lines, `cut` is where the blade goes, `root` what
    grows or has to be under the surface. `says` tells the same in words: the cut, the depth."""

    leaf: str
    vein: str
    cut: str
    says: tuple[str | Promise, str | Promise]
    stem: str = ""
    root: str = ""


def _leaf(x: int, y: int, out: int) -> str:
    """A small leaf at a joint; `out` is -1 to the left, 1 to the right."""
    edge = f"c{8 * out} -14 {24 * out} -16 {36 * out} -12"
    return f"M{x} {y}{edge}c{-4 * out} 10 {-22 * out} 18 {-36 * out} 12Z"


DRAWINGS = {
    "whole leaf": Drawing(
        leaf=BLADE + "M190 84C205 68 310 68 332 84Z",
        vein=VEINS + "M196 82H326",
        stem="M80 108V92",
        cut="M73 71L87 79M73 79L87 71M74 51L86 59M74 59L86 51M72 100H88",
        root="M225 76V56M225 64L217 56M225 64L233 56M262 74V54M262 62L254 54M262 62L270 54"
        "M299 76V56M299 64L291 56M299 64L307 56",
        says=(
            _("Cut off the stalk, and nick the thick veins where they fork."),
            _("It lies flat, right side up, and touches the medium at every nick."),
        ),
    ),
    "leaf wedge": Drawing(
        leaf=BLADE + "M260 108L232 38Q260 24 288 38Z",
        vein=VEINS + "M260 104V36",
        stem="M80 108V92",
        cut="M80 92L44 56M80 92L64 30M80 92L98 30M80 92L117 56M72 100H88",
        root="M260 108V122M260 112L250 122M260 112L270 122",
        says=(
            _("Cut wedges from the rim to the stalk’s end, a main vein in each."),
            _("Point down, a third of it in the medium."),
        ),
    ),
    "leaf cone": Drawing(
        leaf=BLADE + "M228 46Q260 30 292 46Q272 58 262 104H258Q248 58 228 46Z",
        vein=VEINS + "M228 46Q260 62 292 46M260 100L250 56M260 100L270 56",
        stem="M80 108V92",
        cut="M44 70C56 44 104 44 116 70",
        root="M258 104L246 118M260 106V122M262 104L274 118",
        says=(
            _("Trim away the outer half, and roll the rest round the stalk’s end."),
            _("The point of the cone stands just under the surface."),
        ),
    ),
    "petiole": Drawing(
        leaf=BLADE + "M252 80C222 70 222 36 274 14C306 46 292 78 252 80Z",
        vein=VEINS + "M252 80L272 24M258 62L244 50M258 62L280 58",
        stem="M80 124V92M252 80L244 108",
        cut="M70 118L90 110",
        root="M244 108L234 122M244 108L246 124M244 108L256 120",
        says=(
            _("Cut aslant through the stalk, 2 to 3 cm below the blade."),
            _("It leans back, in the medium up to the blade."),
        ),
    ),
    "vein piece": Drawing(
        leaf=BLADE + "M196 96C202 50 250 34 292 46C318 56 326 80 326 96Z",
        vein=VEINS + "M222 94L216 60M250 94L246 48M278 94L282 46M304 94L312 66",
        stem="M80 108V92",
        cut="M75 92V24M85 92V24M72 100H88",
        root="M222 96V114M250 96V116M278 96V116M304 96V114",
        says=(
            _("Cut along both sides of the midrib, and take it out."),
            _("Each half stands on its cut edge, 1 cm deep."),
        ),
    ),
    "leaf section": Drawing(
        leaf="M68 118C60 80 60 40 80 12C100 40 100 80 92 118ZM242 104V40H278V104Z",
        vein="M80 116V18M260 102V42",
        cut="M58 92H102M58 66H102M60 40H100",
        root="M250 104L244 120M260 104V122M270 104L276 120",
        says=(
            _("Cut the leaf across, and keep which end was nearer the plant."),
            _("That end goes down, a third of the piece in the medium."),
        ),
    ),
    "rhizome section": Drawing(
        leaf="M24 84C30 66 50 66 80 68C110 66 130 66 136 84C130 98 110 98 80 96C50 98 30 98 24 84Z"
        "M216 92C216 74 230 72 260 74C290 72 304 74 304 92"
        "C296 102 276 102 260 102C244 102 224 102 216 92Z",
        vein="M52 68V50M52 50Q40 44 44 32Q56 36 52 50M108 68V50M108 50Q96 44 100 32Q112 36 108 50"
        "M260 74L252 66M260 74L268 66",
        cut="M66 58V106M94 58V106",
        root="M236 101V118M260 102V122M284 101V118",
        says=(
            _("Cut the creeping stem across, an eye on every piece of 4 to 6 cm."),
            _("It lies half sunk, its eye up."),
        ),
    ),
    "tip cutting": Drawing(
        leaf=_leaf(80, 96, 1)
        + _leaf(80, 70, -1)
        + _leaf(80, 48, 1)
        + "M80 30C70 22 72 10 80 4C88 10 90 22 80 30Z"
        + _leaf(260, 62, -1)
        + _leaf(260, 44, 1)
        + "M260 30C250 22 252 10 260 4C268 10 270 22 260 30Z",
        vein="",
        stem="M80 124V26M260 108V26",
        cut="M66 76H94",
        root="M260 108L248 122M260 108V124M260 108L272 122",
        says=(
            _("Cut just below a joint, two or three joints from the tip; no flower on it."),
            _("The lowest leaves are off; it stands in the medium up to the first leaf."),
        ),
    ),
    "stem section": Drawing(
        leaf=_leaf(80, 98, 1) + _leaf(80, 70, -1) + _leaf(80, 42, 1) + _leaf(260, 64, 1),
        vein="M252 94H268M252 64H268M72 98H88M72 70H88M72 42H88",
        stem=STEM + "M260 108V48",
        cut="M66 106H94M66 78H94M66 50H94",
        root="M260 94L244 110M260 98L276 112M260 108V122",
        says=(
            _("Cut between the joints, one or two joints a piece; keep which end was down."),
            _("The lower end down, one joint under the surface."),
        ),
    ),
    "leaf-bud": Drawing(
        leaf=_leaf(80, 98, 1) + _leaf(80, 68, -1) + _leaf(80, 40, 1) + _leaf(260, 82, 1),
        vein="M84 62L90 56M256 78L250 72",
        stem=STEM + "M260 108V70",
        cut="M66 78H94M66 58H94",
        root="M260 108L248 122M260 108V124M260 108L272 122",
        says=(
            _("Cut a little above and below a joint: one leaf, its bud, a bit of stem."),
            _("The bud stands at the surface, the leaf above it."),
        ),
    ),
    "division": Drawing(
        leaf="M50 84C40 60 40 40 46 22C58 40 60 62 54 84Z"
        "M80 84C70 60 70 34 80 14C90 34 90 60 84 84Z"
        "M110 84C104 62 106 40 116 22C122 40 122 60 114 84Z"
        "M260 84C248 60 248 34 260 14C272 34 272 60 264 84Z",
        vein="M50 82L47 34M81 82L80 26M112 82L115 34M261 82L260 26",
        stem="M40 86H124M248 86H276",
        cut="M66 66V118M97 66V118",
        root="M50 88L42 116M52 88L56 118M80 88L74 118M84 88L88 118M110 88L104 116M114 88L122 116"
        "M256 88L246 118M262 88V122M268 88L278 118",
        says=(
            _("Part it at its natural joints; cut only what won’t part."),
            _("Each piece has roots and a growing point, and stands as deep as before."),
        ),
    ),
}
