"""Plant names as the cultivated-plant code writes them: genus and epithet in italics, the
cultivar upright in single quotes, × for hybrids, a trade designation upright without quotes; and
written names taken apart."""

import re
from dataclasses import dataclass
from itertools import takewhile

type Runs = tuple[tuple[str, bool], ...]


def runs(
    genus: str, species: str = "", hybrid: bool = False, cultivar: str = "", trade_name: str = ""
) -> Runs:
    """The name as pieces of text, each with whether it is set in italics."""
    pieces: list[tuple[str, bool]] = [(genus, True)]
    if hybrid:
        pieces.append((" × " if species else " ×", False))
        if species:
            pieces.append((species, True))
    elif species:
        pieces[0] = (f"{genus} {species}", True)
    if cultivar:
        pieces.append((f" ‘{cultivar}’", False))
    if trade_name:
        pieces.append((f" {trade_name}", False))
    return tuple(pieces)


def plain(name: Runs) -> str:
    return "".join(text for text, _ in name)


@dataclass(frozen=True, slots=True)
class Name:
    """The parts of a name, as a variety keeps them."""

    genus: str = ""
    species: str = ""
    hybrid: bool = False
    cultivar: str = ""


QUOTED = re.compile(r"""['‘’`´"“”](?P<cultivar>[^"“”]+?)['‘’`´"“”]\s*$""")
CROSS = re.compile(r"(^|\s)[×xX](?=\s|$)|×")


def taken_apart(text: str, genus: str = "") -> Name:
    """A written name in its parts: `Begonia rex ‘Silver Moth’`, `Begonia × erythrophylla`,
    `B. Silver Moth`. What stands in quotation marks is the cultivar; without any, what begins with
    a capital after the genus is. `genus` is the one to expect: it completes `B.`, and is put before
    a name that has none. Capitals and marks are those of the cultivated-plant code (from
    memory)."""
    text = " ".join(text.split())
    quoted = QUOTED.search(text)
    cultivar = quoted["cultivar"].strip() if quoted else ""
    rest = text[: quoted.start()] if quoted else text
    hybrid = bool(CROSS.search(rest))
    words = CROSS.sub(" ", rest).split()
    if words and genus and _stands_for(words[0], genus):
        words[0] = genus
    first = words[0] if words else ""
    told = first == genus or bool(cultivar) or (not genus and len(words) > 1)
    if told and first[:1].isupper():
        genus, words = first, words[1:]
    if cultivar:
        return Name(genus, " ".join(words), hybrid, cultivar)
    small = len(list(takewhile(lambda word: word[0].islower(), words)))
    species = " ".join(words[:small])
    return Name(genus, species, hybrid, " ".join(words[small:]))


def _stands_for(word: str, genus: str) -> bool:
    """Whether a word is the genus, in any capitals or shortened to `B.`"""
    word = word.casefold()
    return word == genus.casefold() or (
        word.endswith(".") and genus.casefold().startswith(word[:-1])
    )
