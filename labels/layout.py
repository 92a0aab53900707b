"""Where everything on one tag goes, for a label of any shape.

`labels.arrange` finds the room for QR, name and the rest; here a plant passport gets its place
first, and what the floors of the type leave no room for is left out in a fixed order, and said.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, replace
from functools import partial
from operator import itemgetter
from typing import Any

from labels import passport, qr, typeface
from labels.arrange import EDGE, Fitted, best, rooms
from labels.compose import NAME, Room, Text, compose
from labels.sentences import Sentence
from labels.stock import LabelStock
from labels.tag import Tag, plain

LEAVE_OUT = {
    "nursery": "Left out for want of room: the nursery's line.",
    "place": "Left out for want of room: the place.",
    "flat": "Left out for want of room: the flat.",
    "initials": "Left out for want of room: the initials.",
    "notices": "Left out for want of room: the notices.",
    "count": "Left out for want of room: the count.",
    "method": "Left out for want of room: the method.",
    "stuck_on": "Left out for want of room: the date.",
}
"""What is left out for want of room, in this order, and what is said then: name, code and QR never
are."""

NO_PASSPORT = Sentence(
    "There is no room for the plant passport: it is left out. Choose a larger label."
)


@dataclass(frozen=True, slots=True)
class Drawing:
    """What is drawn on one label, and what a person should know before it is printed.

    `name_size` are the name's points, 0 if not even the floor leaves room for all of it; `frame`
    is a plant passport's.
    """

    texts: tuple[Text, ...]
    symbol: qr.Symbol
    qr_x: float
    qr_y: float
    name_size: float = 0.0
    frame: passport.Frame | None = None
    problems: tuple[Sentence, ...] = ()


def draw(tag: Tag, stock: LabelStock) -> Drawing:
    """The drawing of a tag on a label of a stock. Raises `qr.TooSmallError`."""
    drawing = _with_passport(tag, stock) or _drawn(tag, stock)
    problems = [*_letters(tag)]
    if tag.passport and drawing.frame is None:
        problems.append(NO_PASSPORT)
    return replace(drawing, problems=(*problems, *drawing.problems))


def _with_passport(tag: Tag, stock: LabelStock) -> Drawing | None:
    """The tag beside or above its plant passport, whichever leaves the more to be said in the
    larger type; None if there is no room for the passport and the name."""
    found = []
    for frame, rest in passport.frames(tag, stock, min(EDGE, stock.padding)):
        try:
            drawing = _drawn(tag, rest)
        except qr.TooSmallError:
            continue
        if drawing.name_size:
            whole = replace(drawing, frame=frame, texts=(*drawing.texts, *frame.texts))
            found.append((-len(drawing.problems), drawing.name_size, whole))
    return max(found, key=itemgetter(0, 1))[2] if found else None


def _drawn(tag: Tag, stock: LabelStock) -> Drawing:
    """The tag without its passport."""
    version = qr.version(tag.address, "H")
    tag, fitted, left_out = _with_what_fits(tag, partial(best, stock, version))
    problems = [Sentence(LEAVE_OUT[field]) for field in left_out]
    if fitted is None:
        room = rooms(stock, version)[-1]
        texts, kept = _shortened(tag, room)
        problems.append(
            Sentence(
                "The name %(name)s is too long for this label even at %(floor)d pt: it is printed "
                "as “%(kept)s”. Choose a larger label or a shorter name.",
                name=plain(tag.name),
                floor=NAME.floor,
                kept=kept,
            )
        )
    else:
        room, texts = fitted.way.room, fitted.texts
    symbol = qr.symbol(tag.address, room.square.width)
    return Drawing(
        tuple(texts),
        symbol,
        room.square.x,
        room.square.y,
        name_size=fitted.size if fitted else 0.0,
        problems=tuple(problems),
    )


def _letters(tag: Tag) -> Iterator[Sentence]:
    """A sentence if the typeface lacks letters that the tag needs."""
    framed = (tag.passport.words, tag.passport.operator) if tag.passport else ()
    facts = (
        tag.method,
        tag.count,
        tag.initials,
        tag.flat,
        tag.place,
        *tag.notices,
        tag.nursery,
        *framed,
    )
    if missing := typeface.lacks("".join((plain(tag.name), *facts))):
        yield Sentence(
            "%(name)s can't be printed as it is: the tag's typeface has no %(letters)s, and "
            "“%(stand_in)s” is printed in place. Write it in Latin, Greek or Cyrillic letters.",
            name=plain(tag.name),
            letters=" ".join(missing),
            stand_in=typeface.STAND_IN,
        )


def _with_what_fits(
    tag: Tag, fit_in: Callable[[Tag], Fitted | None]
) -> tuple[Tag, Fitted | None, list[str]]:
    """The tag with as many of its facts as fit, how they fit, and the fields left out."""
    whole, fitted = tag, fit_in(tag)
    left_out: list[str] = []
    for field in LEAVE_OUT:
        if fitted is None and getattr(tag, field):
            tag = _without(tag, field)
            left_out.append(field)
            fitted = fit_in(tag)
    for field in left_out[-2::-1]:  # the last to go may have made room for some before it
        fuller = replace(tag, **{field: getattr(whole, field)})
        if fitted is not None and (found := fit_in(fuller)) is not None:
            tag, fitted = fuller, found
            left_out.remove(field)
    return tag, fitted, left_out


def _without(tag: Tag, field: str) -> Tag:
    """The tag with a field as it stands when there is nothing to say."""
    nothing: dict[str, Any] = {f.name: f.default for f in fields(Tag) if f.name == field}
    return replace(tag, **nothing)


def _shortened(tag: Tag, room: Room) -> tuple[list[Text], str]:
    """The tag with as much of its name as fits at the floor, and the name as it then reads."""
    runs = list(tag.name)
    while runs:
        text, italic = runs.pop()
        for end in range(len(text) - 1, -1, -1):
            short = (*runs, (text[:end].rstrip() + "…", italic))
            texts = compose(
                replace(tag, name=short), room, NAME.floor, details=0.0, parted=True, chopped=True
            )
            if texts is not None:
                return texts, plain(short)
    return [], ""
