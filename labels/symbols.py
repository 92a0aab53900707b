"""The QR that results on a stock, as pages tell it."""

from dataclasses import dataclass

from labels import layout, qr
from labels.sentences import Sentence, SentenceError
from labels.stock import LabelStock, check
from labels.tag import Tag


@dataclass(frozen=True)
class Resulting:
    """Sentences about the symbol; `works` if there can be one."""

    works: bool
    sentences: tuple[Sentence, ...]


def symbol_on(stock: LabelStock, tag: Tag) -> Resulting:
    """What becomes of a tag's QR on a stock, and what would give a better one."""
    faults = check(stock)
    if faults:
        return Resulting(False, tuple(faults))
    try:
        symbol = layout.draw(tag, stock).symbol
        return Resulting(True, qr.advice(tag.address, symbol.side_mm))
    except SentenceError as fault:
        return Resulting(False, (fault.sentence,))
