"""What was done with lots beside the method, and what it did: medium, hormone, pieces a unit, stuck
straight into pots."""

from collections import Counter, defaultdict
from typing import NamedTuple

from django.db.models import Count

from lots.models import CropGroup, Lot
from lots.outlook import effects, facts, rows, stored_fit
from lots.outlook.effects import Effect
from lots.outlook.prediction import predict


class Practice(NamedTuple):
    """One way of doing a thing in a crop group (`what`: medium, hormone, pieces or direct; `word`:
    which, as mostly written, '' for none), against the usual way; what it did by stage."""

    what: str
    word: str
    lots: int
    usual: str
    usual_lots: int
    effects: dict[str, Effect]


def practices(group: CropGroup) -> list[Practice]:
    """What was done in a crop group other than is usual there, most lots first; the fit shares what
    it did over all crop groups, with season, time, place, variety and method allowed for."""
    fits, found = stored_fit.newest(), []
    for what, words in _counted(group).items():
        usual, *others = words
        for word in others:
            told = effects.of_word(fits, what, word, usual)
            if told:
                found.append(Practice(what, *words[word], *words[usual], told))
    return found


def usual_lot(group: CropGroup) -> dict[str, float]:
    """Days to struck and finished, and the share that takes, of a lot like the last one stuck of a
    crop group, by stage."""
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False)
    last = stuck.order_by("-stuck_on", "-pk").values("pk")[:1]
    [lot] = facts.standing(Lot.objects.filter(pk__in=last))
    found = predict(stored_fit.newest(), [facts.unseen(lot)])
    days = {"struck": found.struck.usual[0, 1], "finished": found.finished.usual[0, 1]}
    return {**days, "take": found.take[0]}


def _counted(group: CropGroup) -> dict[str, dict[str, tuple[str, int]]]:
    """By what was done, by its word in the fit, how it is mostly written and of how many stuck lots
    it is true; most lots first."""
    told = ("medium", "hormone", "pieces_per_unit", "direct_pot_size")
    stuck = Lot.objects.filter(variety__group=group, stuck_on__isnull=False).order_by()
    spellings: dict[str, dict[str, Counter[str]]] = defaultdict(lambda: defaultdict(Counter))
    for *of, pot, lots in stuck.values_list(*told).annotate(lots=Count("pk")):
        for what, word in rows.done(*of, direct=pot is not None).items():
            spellings[what][word.casefold()][word] += lots
    found = {}
    for what, words in spellings.items():
        by_lots = sorted(words.items(), key=lambda item: (-item[1].total(), item[0]))
        found[what] = {
            word: (written.most_common(1)[0][0], written.total()) for word, written in by_lots
        }
    return found
