"""Books drawn by hypothesis: odd texts everywhere, lots at every stage, records that add up."""

import json
import random
import unicodedata
import uuid
from datetime import UTC, date, datetime, timedelta
from itertools import count

from hypothesis import strategies as st

from lots import codes
from lots.tally import ORDER
from tests.lots.books import BOOK, texts

FIRST = date(2024, 1, 1)
RECORDS = ["checks", "losses", "moves", "potups", "finishes", "leaves"]
WHEN = ["recorded_at", "voided_at", "voided_by"]
REASONS = ["rot", "dried out", "blind", "pest", "disease", "mishap", "other"]


@st.composite
def random_books(draw) -> dict[str, list[list[str]]]:
    """The tables of a book, header rows included."""
    odd = draw(st.lists(texts(300, least=1), min_size=6, max_size=12))
    return Maker(draw(st.randoms(use_true_random=False)), odd).book()


class Maker:
    """Makes a book with the given chance and odd texts."""

    def __init__(self, chance: random.Random, odd: list[str]) -> None:
        self.chance, self.odd, self.numbers = chance, odd, count()
        self.written: dict[str, str] = {}
        self.tables = {
            name: [lines[0].split(",") + (WHEN if name in RECORDS and name != "checks" else [])]
            for name, lines in BOOK.items()
        }

    def add_record(self, table: str, *cells: object) -> None:
        """A record; when it was recorded, and when and by whom voided, may be said or not."""
        recorded = self.maybe("2024-12-24T08:00:00.000001+05:45")
        voiding = (self.maybe("2025-01-01T00:00:00-11:00"), self.maybe(cells[3]))
        self.add(table, *cells, recorded, *(voiding if cells[-1] else ("", "")))

    def add(self, table: str, *cells: object) -> None:
        self.tables[table].append(["" if cell is None else str(cell) for cell in cells])

    def text(self, most: int) -> str:
        """One of the odd texts, each always in the same capitals."""
        drawn = self.chance.choice(self.odd)[:most].strip()
        return self.written.setdefault(drawn.casefold(), drawn)

    def maybe(self, value: object) -> object:
        return value if self.chance.random() < 0.6 else ""

    def pick(self, *values: object) -> object:
        return self.chance.choice(values)

    def names(self, most: int) -> list[str]:
        """Two or three names of a table's rows, each another one."""
        return list(dict.fromkeys([self.text(most), self.text(most), "plain"]))

    def book(self) -> dict[str, list[list[str]]]:
        chance, pick, maybe, text = self.chance, self.pick, self.maybe, self.text
        yes_no = ("yes", "no")
        groups, methods, pots = self.names(60), self.names(60), self.names(40)
        places, sessions, varieties = self.names(40), self.names(20), self.names(20)
        plants = self.names(20)
        normal = [unicodedata.normalize("NFKC", name)[:40].strip() for name in self.names(40)]
        people = list({name.casefold(): name for name in filter(None, normal)}.values())
        for name in groups:
            self.add("crops", name, maybe(text(60)), pick("", "coleus"))
        for name in methods:
            parts = ("leaf", "stem", "rhizome", "crown", "root")
            shoots = (maybe(chance.randint(1, 9)), pick(*yes_no))
            told = (maybe(text(300)), maybe("leaf wedge"))
            self.add("methods", name, pick(*parts), *shoots, maybe(chance.randint(1, 999)), *told)
        for name in pots:
            self.add("potsizes", name, pick("7", "10.5", "999.9"), 3, chance.randint(1, 3))
        for name in places:
            self.add("places", name, chance.randint(0, 99))
        for name in people:
            self.add("people", name, text(80), text(5), pick("grower", "manager"))
        for code in varieties:
            named = (text(60), maybe(text(60)), pick(*yes_no), maybe(text(60)), maybe(text(60)))
            protected = pick(("no", ""), ("yes", text(100)))
            self.add("varieties", code, pick(*groups), *named, *protected, maybe(text(200)))
        for code in sessions:
            self.add("sessions", code, FIRST, maybe(pick(*people)), maybe(text(80)))
        of_lot = {}
        for code in self.lot_codes():
            of_lot[code] = pick(*varieties)
            self.lot(code, of_lot[code], methods, sessions, pots, places, people)
        for code in plants:
            variety, own = pick(*varieties), pick(True, False)
            origin = ("own", maybe(pick(*of_lot))) if own else (pick("bought", "gift"), "")
            variety = of_lot.get(origin[1], variety)
            more = (maybe(chance.randint(1, 9)), maybe(chance.randint(0, 9)))
            health = pick("sound", "watch", "quarantined", "gone")
            where = (maybe(text(100)), FIRST, maybe(pick(*places)))
            self.add("stockplants", code, variety, *origin, *where, health, *more, pick(1, 40))
            for lot in (lot for lot, its in of_lot.items() if its == variety):
                self.add("cuts", lot, code, *more[:1], chance.randint(0, 9), pick(*yes_no))
        self.trial(varieties, methods, sessions, of_lot)
        self.refusals(people)
        self.labels(groups)
        for _target in range(chance.randint(0, 3)):
            what = (pick(*varieties), pick(*pots), chance.randint(1, 2), FIRST)
            again = pick(("", ""), (4, ""), (520, "2026-01-01"))
            told = (*what, maybe(text(100)), maybe(text(200)), maybe("0.95"), *again)
            self.add("targets", *told)
            if pick(True, False):
                self.add("closedtargets", *told, pick("met", "missed", "dropped"), FIRST)
        for week in ("", "2026-W53", "2027-W01"):
            self.add("limits", week, maybe(0), maybe(48), maybe(600), maybe("20.5"))
        return self.tables

    def trial(self, varieties, methods, sessions, lots) -> None:
        chance, pick, maybe, text = self.chance, self.pick, self.maybe, self.text
        code, seed = self.names(12)[0], chance.randrange(2**31)
        cells = " ".join(pick("AB", "BABA", "A" * 30 + "B" * 30) for _flat in range(3))
        what = (pick(*sessions), text(200), pick(*varieties), seed, pick(1, 6), cells)
        self.add("trials", code, *what)
        for arm in "AB":
            self.add("arms", code, arm, pick(*methods), maybe(text(80)), maybe(text(80)))
        for lot in chance.sample(sorted(lots), 2):
            self.add("triallots", lot, code, pick("A", "B"))

    def refusals(self, people) -> None:
        sent = json.dumps({self.text(30): [self.text(30), 1.5, None, True]}, sort_keys=True)
        at = "2024-12-24T08:00:00+00:00"
        settled = self.pick((at, self.pick(*people), self.text(200)), ("", "", ""))
        uuid = self.text(40)
        self.add("refusals", uuid, self.text(40), sent, self.text(300), people[0], at, *settled)

    def labels(self, groups) -> None:
        chance, maybe, text = self.chance, self.maybe, self.text
        width, height = round(chance.uniform(30, 90), 4), chance.randint(30, 90)
        where = [2 * width, height, width, height, 0, 0, width, height, 0, 0, 0, 0, 0, 1.5]
        self.add("labelstocks", text(80), self.pick("mm", "in"), 2, 1, *where, "no")
        self.add("printers", text(60), chance.randint(-200, 200) / 10, "-0.0", 90)
        who = (maybe(text(60)), "no", "no", maybe(text(30)), "", "", "")
        self.add("tagwording", 1, *who, self.pick("yes", "no"))
        self.add("petgroups", 1, chance.choice(groups))

    def lot_codes(self) -> list[str]:
        found = set()
        while len(found) < 4:
            payload = "".join(self.chance.choices(codes.CROCKFORD, k=codes.LENGTH - 1))
            if (check := codes.check_character(payload)) in codes.CROCKFORD:
                found.add(payload + check)
        return sorted(found)

    def lot(self, code, variety, methods, sessions, pots, places, people) -> None:
        chance, pick, maybe, text = self.chance, self.pick, self.maybe, self.text
        direct = maybe(pick(*pots)) if pick(True, False) else ""
        stuck = chance.choice([chance.randint(1, 60), None, 0])
        sticking = ("", "" if stuck is None else 0, "")
        if stuck:
            sticking = (FIRST, stuck, maybe(pick(*people)))
        given = (maybe(pick(*sessions)), variety, pick(*methods), chance.randint(1, 99), 2, direct)
        more = (maybe(text(80)), maybe(text(80)), maybe(text(20)), maybe(pick(*places)))
        self.add("lots", code, *given, *more, *sticking, maybe(text(200)))
        self.records(code, stuck or 0, direct, pots, places, people)

    def records(self, code, stuck, direct, pots, places, people) -> None:
        """What happens to a lot, each record taking no more than there is."""
        chance, pick, maybe, text = self.chance, self.pick, self.maybe, self.text
        cells, growing, finished = (0, stuck, 0) if direct else (stuck, 0, 0)
        at, last = datetime(2024, 1, 3, tzinfo=UTC), ""
        for _record in range(chance.randint(0, 12) if stuck else 0):
            kind = pick(*ORDER)
            # Records of one moment are taken in a fixed order of kinds.
            least = 0 if ORDER[kind] >= ORDER.get(last, 9) else 1
            at += timedelta(microseconds=chance.choice([least, 3_600_000_000, 86_400_000_001]))
            last = kind
            voided = text(200) if chance.random() < 0.2 else ""
            # Counted as well as drawn: a shrunk book draws the same bits again and again.
            number = uuid.UUID(int=chance.getrandbits(96) << 32 | next(self.numbers))
            shared = (number, code, at.isoformat(), pick(*people))

            def take(has: int, voided: str = voided) -> tuple[int, int]:
                """How many a record takes, and how many of them are gone then."""
                taken = chance.randint(1, has)
                return taken, 0 if voided else taken

            if kind == "check" and cells + growing + finished:
                looked = chance.randint(1, cells + growing + finished)
                rooted, showing = chance.randint(0, looked), maybe(chance.randint(0, looked))
                seen = (looked, rooted, showing, pick("yes", "no"), maybe(text(300)))
                self.add_record("checks", *shared, *seen, voided)
            elif kind == "loss" and (cells or growing):
                stage = "cell" if cells else "pot"
                taken, gone = take(cells or growing)
                self.add_record(
                    "losses", *shared, stage, taken, pick(*REASONS), maybe(text(300)), voided
                )
                cells, growing = (cells - gone, growing) if cells else (0, growing - gone)
            elif kind == "move":
                what = pick("", "pots", "pots" if direct else "cells")
                self.add_record("moves", *shared, pick(*places), what, voided)
            elif kind == "potup" and cells:
                taken, gone = take(cells)
                made = chance.randint(1, taken)
                self.add_record("potups", *shared, taken, made, pick(*pots), voided)
                cells, growing = cells - gone, growing + (made if gone else 0)
            elif kind == "finish" and growing:
                taken, gone = take(growing)
                self.add_record("finishes", *shared, taken, maybe(pick(*pots)), voided)
                growing, finished = growing - gone, finished + gone
            elif kind == "leave" and (growing or finished):
                way = (pick("sold", "given", "stock", "culled"), maybe(text(100)))
                stage = "finished" if finished else "growing"
                taken, gone = take(finished or growing)
                self.add_record("leaves", *shared, taken, stage, *way, voided)
                growing -= 0 if finished else gone
                finished -= gone if finished else 0
