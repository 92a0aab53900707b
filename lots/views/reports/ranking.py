"""Methods compared in words: best first by one figure, with what the other figures say."""

from dataclasses import dataclass
from itertools import combinations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from lots.forecast.compare import Comparison, Estimate
from lots.models import Method
from lots.outlook.comparing import MORE_IS_BETTER, Compared, MethodFigures, Pair, better

FEW = 3  # lots; with fewer a method says next to nothing for itself
EVEN = 0.65  # a chance below this is as good as even
LIKELY = 0.9
# Another figure is put in the headline where it differs by so much, relatively, and so likely.
FAR = 1.1
SURE = 0.8


@dataclass(frozen=True, slots=True)
class Measure:
    """What methods are put in order by, in words. name: within a sentence; axis: at a chart;
    scale, digits: how it is written."""

    name: str
    axis: str
    scale: float = 1
    digits: int = 0

    def number(self, value: float) -> str:
        return f"{self.scale * value:,.{self.digits}f}"

    def spread(self, of: Estimate) -> str:
        return f"{self.number(of.low)}–{self.number(of.high)}"

    def signed(self, value: float) -> str:
        text = self.number(abs(value))
        return text if not float(text.replace(",", "")) else ("−" if value < 0 else "+") + text

    def difference(self, of: Estimate) -> str:
        return f"{self.signed(of.mean)} ({self.signed(of.low)} … {self.signed(of.high)})"


def measure(by: str) -> Measure:
    if by == "take":
        return Measure(_("take"), _("share that takes"), scale=100)
    if by == "pots":
        return Measure(_("pots from a leaf or shoot"), _("pots from a leaf or shoot"), digits=1)
    return Measure(_("days to finish"), _("days to finish"))


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure and the range around it."""

    label: str
    mean: str
    spread: str


@dataclass(frozen=True, slots=True)
class Row:
    """A method in the table. evidence: its lots and stock plants; difference and chance: against
    the best, empty for the best itself and where its figure isn't known; apart: whether no stock
    plant was cut both this way and the best one, though some are known."""

    method: Method
    cells: list[Cell]
    evidence: str
    few: str
    difference: str
    chance: str
    apart: bool
    is_best: bool


@dataclass(frozen=True, slots=True)
class PairRow:
    """A figure of two methods, and the first's less the second's."""

    label: str
    first: Cell
    second: Cell
    difference: str


def rows(found: Compared, by: str) -> list[Row]:
    best, *_others = ways = found.ranked(by)
    return [_row(found, by, best, way) for way in ways]


def _row(found: Compared, by: str, best: MethodFigures, way: MethodFigures) -> Row:
    of: Estimate = getattr(way, by) or way.take
    difference = chance = ""
    apart = False
    if way is not best and getattr(way, by):
        comparison = getattr(found.pair(way, best), by)
        difference = measure(by).difference(comparison.difference)
        chance = in_words(better(found.pair(best, way), by))
        apart = bool(comparison.difference.plants) and not comparison.both
    return Row(
        method=way.method,
        cells=_cells(way),
        evidence=_evidence(of),
        few=_few(of),
        difference=difference,
        chance=chance,
        apart=apart,
        is_best=way is best,
    )


def _cells(way: MethodFigures) -> list[Cell]:
    take, days, pots = measure("take"), measure("finished"), measure("pots")
    told = [
        (_("Take, of 100"), take, way.take),
        (_("Days to strike"), days, way.struck),
        (_("Days to finish"), days, way.finished),
        (_("Pots from a leaf or shoot"), pots, way.pots),
    ]
    return [
        Cell(label, of.number(figure.mean), of.spread(figure))
        if figure
        else Cell(label, _("not told"), "")
        for label, of, figure in told
    ]


def _evidence(of: Estimate) -> str:
    lots = ngettext("%(n)s lot", "%(n)s lots", of.lots) % {"n": of.lots}
    if not of.plants:
        return lots
    plants = ngettext("%(n)s stock plant", "%(n)s stock plants", of.plants) % {"n": of.plants}
    return _("%(lots)s from %(plants)s") % {"lots": lots, "plants": plants}


def _few(of: Estimate) -> str:
    if of.lots >= FEW:
        return ""
    return _("few, so it leans on others") if of.lots else _("none, so it leans on others")


def in_words(chance: float) -> str:
    """A chance, in words and in 100; never quite sure."""
    n = {"n": min(max(round(100 * chance), 1), 99)}
    if chance < EVEN:
        return _("as good as even: %(n)s in 100") % n
    return _("likely: %(n)s in 100") % n if chance < LIKELY else _("very likely: %(n)s in 100") % n


def headline(found: Compared, by: str) -> list[str]:
    """What comes first by the figure chosen and how far the last lies behind; whether chance may
    have put it first, and what else differs by a lot, be the order the same or not."""
    known = [way for way in found.ranked(by) if getattr(way, by)]
    best, last = known[0], known[-1]
    if best is last:
        said = [_("Only of %(first)s can %(measure)s be told: %(one)s.") % _against(best, best, by)]
    else:
        said = [
            _("%(First)s is best by %(measure)s: %(one)s, against %(two)s by %(second)s.")
            % _against(best, last, by)
        ]
        chance = better(found.pair(best, known[1]), by)
        if chance < EVEN:
            said.append(
                _("Whether it is better than %(next)s is %(chance)s.")
                % {"next": known[1].method, "chance": in_words(chance)}
            )
    said += [_otherwise(found, best, other) for other in MORE_IS_BETTER if other != by]
    few = [str(way.method) for way in known if getattr(way, by).lots < FEW]
    if few:
        said.append(_("Few lots so far: %(methods)s.") % {"methods": ", ".join(few)})
    return [sentence for sentence in said if sentence]


def _otherwise(found: Compared, best: MethodFigures, by: str) -> str:
    """What another figure says beside that by which `best` is best; nothing where all are about
    alike in it."""
    known = [way for way in found.ranked(by) if getattr(way, by)]
    if not known:
        return ""
    first, last = known[0], known[-1]
    if first is not best and best in known and _far_apart(found, first, best, by):
        return _(
            "But %(first)s is best by %(measure)s: %(one)s, against %(two)s by %(second)s."
        ) % (_against(first, best, by))
    if not _far_apart(found, first, last, by):
        return ""
    if first is best:
        return _("It is best by %(measure)s, too: %(one)s, against %(two)s by %(second)s.") % (
            _against(first, last, by)
        )
    return _("By %(measure)s %(first)s is best: %(one)s, against %(two)s by %(second)s.") % (
        _against(first, last, by)
    )


def _far_apart(found: Compared, one: MethodFigures, other: MethodFigures, by: str) -> bool:
    """Whether the first is better than the second, by a lot and probably."""
    if one is other:
        return False
    low, high = sorted([getattr(one, by).mean, getattr(other, by).mean])
    return high >= FAR * low and better(found.pair(one, other), by) >= SURE


def _against(one: MethodFigures, other: MethodFigures, by: str) -> dict[str, str]:
    return {
        "first": str(one.method),
        "First": _capital(one.method),
        "second": str(other.method),
        "measure": measure(by).name,
        "one": _figure(getattr(one, by), by),
        "two": _figure(getattr(other, by), by),
    }


def _figure(of: Estimate, by: str) -> str:
    number = measure(by).number(of.mean)
    if by == "take":
        return _("%(n)s of 100 take") % {"n": number}
    if by == "pots":
        return _("%(n)s pots") % {"n": number}
    return ngettext("%(n)s day", "%(n)s days", round(of.mean)) % {"n": number}


def pairs(found: Compared, by: str) -> list[tuple[Pair, list[str], list[PairRow]]]:
    """Each method against each, the better by the figure chosen first: what is said of the two,
    and their figures."""
    both = (found.pair(*two) for two in combinations(found.ranked(by), 2))
    return [(pair, _sentences(pair), _pair_rows(pair)) for pair in both]


def _sentences(pair: Pair) -> list[str]:
    """What a pair says, with the evidence behind it."""
    take = pair.take
    said = [
        _("%(first)s %(one)s against %(second)s %(two)s. %(chance)s")
        % {
            "first": _capital(pair.first),
            "one": _take(take.first),
            "second": pair.second,
            "two": _take(take.second),
            "chance": _chance(pair, "take", _("By %(method)s more take")),
        },
        _chance(pair, "finished", _("By %(method)s they finish sooner")),
    ]
    if pair.pots:
        said.append(_chance(pair, "pots", _("By %(method)s a leaf or shoot gives more pots")))
    said.append(_plants(take))
    return said


def _take(of: Estimate) -> str:
    take = measure("take")
    words = {"mean": take.number(of.mean), "spread": take.spread(of), "lots": _evidence(of)}
    return _("%(mean)s of 100 (%(spread)s, %(lots)s)") % words


def _chance(pair: Pair, by: str, what: str) -> str:
    """The likelier side of a comparison, in words."""
    if better(pair, by) < 0.5:
        pair = pair.turned()
    claim = what % {"method": pair.first}
    return _("%(claim)s: %(chance)s.") % {"claim": claim, "chance": in_words(better(pair, by))}


def _plants(of: Comparison) -> str:
    """How well the stock plants can be told from the methods."""
    if not of.difference.plants:
        return _("The book doesn't say which stock plants these lots were cut from.")
    if not of.both:
        return _(
            "No stock plant was cut both ways, so a part of the difference may be the plants': "
            "cut one both ways, or plan a side-by-side trial."
        )
    return ngettext(
        "%(n)s stock plant was cut both ways, which tells plants and methods apart.",
        "%(n)s stock plants were cut both ways, which tells plants and methods apart.",
        of.both,
    ) % {"n": of.both}


def _pair_rows(pair: Pair) -> list[PairRow]:
    take, days, pots = measure("take"), measure("finished"), measure("pots")
    told = [
        (_("Take, of 100"), take, pair.take),
        (_("Days to strike"), days, pair.struck),
        (_("Days to finish"), days, pair.finished),
        (_("Pots from a leaf or shoot"), pots, pair.pots),
    ]
    return [
        PairRow(
            label,
            Cell(str(pair.first), of.number(found.first.mean), of.spread(found.first)),
            Cell(str(pair.second), of.number(found.second.mean), of.spread(found.second)),
            of.difference(found.difference),
        )
        for label, of, found in told
        if found
    ]


def _capital(method: Method) -> str:
    return f"{method}"[:1].upper() + f"{method}"[1:]
