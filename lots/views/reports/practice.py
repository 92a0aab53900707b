"""What was done with lots beside the method, and what that did, in words."""

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from lots import outlook
from lots.models import CropGroup
from lots.outlook.effects import Effect
from lots.outlook.practices import Practice
from lots.views.reports.ranking import in_words

WHAT = {
    "medium": gettext_lazy("Medium"),
    "hormone": gettext_lazy("Rooting hormone"),
    "pieces": gettext_lazy("Pieces a unit"),
    "direct": gettext_lazy("Where"),
}
# What no word stands for.
USUAL = {
    "medium": gettext_lazy("none noted"),
    "hormone": gettext_lazy("none"),
    "pieces": "1",
    "direct": gettext_lazy("in flats"),
}
DIRECT = gettext_lazy("straight into pots")


@dataclass(frozen=True, slots=True)
class PracticeRow:
    """One way of doing a thing against the usual one; says: by stage what it did, and the
    chance."""

    what: str
    way: str
    usual: str
    lots: str
    says: dict[str, str]


def rows(group: CropGroup) -> list[PracticeRow]:
    found = outlook.practices.practices(group)
    base = outlook.practices.usual_lot(group) if found else {}
    return [_row(of, base) for of in found]


def _row(of: Practice, base: dict[str, float]) -> PracticeRow:
    return PracticeRow(
        what=str(WHAT[of.what]),
        way=_word(of.what, of.word),
        usual=_word(of.what, of.usual),
        lots=_("%(lots)s against %(usual)s") % {"lots": of.lots, "usual": of.usual_lots},
        says={stage: _says(stage, told, base[stage]) for stage, told in of.effects.items()},
    )


def _word(what: str, word: str) -> str:
    if not word:
        return str(USUAL[what])
    return str(DIRECT) if what == "direct" else word


def _says(stage: str, told: Effect, base: float) -> str:
    """The middle of what was done, and how likely it is that it did it."""
    more = told.mean > 0
    chance = in_words(told.more if more else 1 - told.more)
    if stage == "take":
        n = round(100 * abs(told.taken(base).middle - base))
        says = _("%(n)s of 100 more take") if more else _("%(n)s of 100 fewer take")
    else:
        n = round(base * abs(told.times.middle - 1))
        later = ngettext("%(n)s day later", "%(n)s days later", n)
        says = later if more else ngettext("%(n)s day sooner", "%(n)s days sooner", n)
    if not n:
        return _("alike")
    return _("%(what)s; %(chance)s") % {"what": says % {"n": n}, "chance": chance}
