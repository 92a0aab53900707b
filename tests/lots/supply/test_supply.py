"""One answer to what is there and what will come: every place says the same, to the pot, through
all the stages of lots; targets are served from it, each pot once."""

from datetime import date, timedelta

import pypdfium2
import pytest
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, Phase, given, settings

from lots import csvbook, ledger, outlook, supply
from lots.models import Finish, Leave, Loss, PotUp, StrikeCheck, Target
from lots.outlook.calendar import Kind
from lots.supply.stock import Coming
from lots.supply.targets import serve
from tests import factories
from tests.lots import growing
from tests.lots.books import passing
from tests.lots.mangling import shielded
from tests.lots.random_books import random_books
from tests.lots.supplying import agree
from tests.pages import elements, select


@pytest.fixture
def history(grower):
    """A variety whose lots were potted up and finished before."""
    variety = factories.variety()
    growing.load(
        *(growing.grown(days=400 + n, by=grower, variety=variety, takes=30 + n) for n in range(2))
    )
    outlook.refit()
    return variety


def test_every_place_says_the_same_at_every_stage(client, grower, history, monkeypatch):
    pot, small = factories.potsize(), factories.potsize(name="7 cm", diameter_cm=7)

    def at(days):
        return {"by": grower, "observed_at": growing.moment(days)}

    def agrees():
        return agree(client, monkeypatch)

    before = agrees()
    assert before == (30 + 31, 0)
    lot = factories.stuck_lot(days=160, units=46, variety=history, by=grower)
    other = factories.stuck_lot(days=30, units=20, by=grower)
    direct = factories.stuck_lot(days=150, units=12, by=grower, direct_pot_size=small)
    in_cells = agrees()
    assert in_cells[0] == before[0]
    steps = [
        (lot, [StrikeCheck(looked_at=46, rooted=40, **at(120))]),
        (lot, [Loss(stage="cell", units=4, reason="rot", **at(110))]),
        (lot, [PotUp(units=20, pots=20, pot_size=pot, **at(100))]),
        (lot, [Finish(pots=5, **at(20))]),
        (lot, [Loss(stage="pot", units=2, reason="pest", **at(15))]),
        (lot, [Leave(pots=3, stage="finished", way="sold", **at(10))]),
        (lot, [Leave(pots=1, stage="growing", way="given", **at(9))]),
        (lot, [PotUp(units=6, pots=6, pot_size=pot, **at(8))]),
        (lot, [Finish(pots=11, **at(2))]),
        (direct, [StrikeCheck(looked_at=12, rooted=9, **at(100))]),
        (direct, [Loss(stage="pot", units=3, reason="rot", **at(90))]),
        (direct, [Finish(pots=4, **at(6))]),
        (direct, [Leave(pots=2, stage="finished", way="sold", **at(5))]),
        (direct, [Finish(pots=5, **at(1))]),
        (other, [Loss(stage="cell", units=20, reason="rot", **at(3))]),
    ]
    said = []
    for of, records in steps:
        ledger.record(of, records)
        said.append(agrees())
    # Here: 5 finish, 3 of them go, 11 more finish; of the direct ones 4, less 2, and 5.
    assert [now - before[0] for now, _ in said] == [
        *[0, 0, 0, 5, 5, 2, 2, 2, 13],
        *[13, 13, 17, 15, 20, 20],
    ]
    ledger.void(steps[8][1][0], by=grower, why="the other bench")
    voided = agrees()
    assert voided[0] == said[-1][0] - 11
    assert voided[1] > said[-1][1]
    outlook.refit()
    assert agrees() == voided


def test_a_lot_in_three_parts_has_one_answer(client, grower, history, monkeypatch):
    """Of 46 units 20 were potted up, and 5 of those pots are finished: 5 are here, 15 grow, and
    what still stands in cells comes later than they do."""
    pot = factories.potsize()
    lot = factories.stuck_lot(days=150, units=46, variety=history, by=grower)
    records = [
        StrikeCheck(looked_at=46, rooted=44, by=grower, observed_at=growing.moment(110)),
        PotUp(units=20, pots=20, pot_size=pot, by=grower, observed_at=growing.moment(95)),
        Finish(pots=5, by=grower, observed_at=growing.moment(2)),
    ]
    ledger.record(lot, records)
    outlook.refit()
    agree(client, monkeypatch)
    found = supply.of_lot(lot, lot.forecasts.get(moment="newest"))
    assert 5 + found.to_come <= 46
    assert 13 <= found.to_come - found.cells <= 15
    assert 10 < found.cells <= 26
    soon = timezone.localdate() + timedelta(weeks=4)
    assert not any(each.cells for each in found.days if each.day <= soon)


def test_what_has_not_struck_is_no_pot_of_this_week(client, grower, history):
    """However long it has been overdue: in cells, or in pots from the first day."""
    factories.stuck_lot(days=300, units=40, variety=history, by=grower)
    pot = factories.potsize()
    factories.stuck_lot(days=300, units=40, variety=history, by=grower, direct_pot_size=pot)
    looked = factories.stuck_lot(days=300, units=40, variety=history, direct_pot_size=pot)
    check = StrikeCheck(looked_at=40, rooted=3, by=grower, observed_at=growing.moment(2))
    ledger.record(looked, [check])
    outlook.refit()
    assert [(week.pots, week.high) for week in supply.weeks(3)] == [(0, 0)] * 3
    assert sum(week.pots for week in supply.weeks(60)) > 60


def test_potting_up_a_late_lot_does_not_finish_it(grower, history):
    lot = factories.stuck_lot(days=300, units=40, variety=history, by=grower)

    def first():
        return lot.to_come.order_by("day").first().day

    in_cells = first()
    pot = PotUp(units=40, pots=40, pot_size=factories.potsize(), by=grower)
    pot.observed_at = timezone.now()
    ledger.record(lot, [pot])
    assert first() > timezone.localdate() + timedelta(weeks=4)
    assert abs((first() - in_cells).days) < 30


def test_what_is_in_cells_goes_where_such_lots_went(grower):
    """By variety and method; else by crop group and method; else it has no size yet. Three units
    made a pot."""
    wide = factories.potsize(name="13 cm", diameter_cm=13)
    known, method = factories.variety(), factories.method()
    for n, size in enumerate((wide, wide, factories.potsize())):
        lot, records = growing.grown(days=300 + n, by=grower, variety=known, takes=36)
        for record in records:
            if isinstance(record, PotUp):
                record.pot_size, record.pots = size, 12
        records[-1].pots = 12
        records[-2].looked_at = records[-2].rooted = 12
        growing.load((lot, records))
    outlook.refit()
    kin, stranger = factories.variety(), factories.variety(group=factories.group(name="hoya"))
    lots = [factories.stuck_lot(variety=of, method=method) for of in (known, kin, stranger)]
    went = [lot.to_come.first().pot_size for lot in lots]
    assert went == [wide, wide, None]
    pots = [lot.forecasts.get(moment="newest").to_come for lot in lots]
    assert pots[0] <= 16
    assert pots[2] > 16
    [line] = [line for line in supply.lines(8) if line.size is None]
    assert (line.variety, line.cells) == (stranger, pots[2])


def test_a_finished_lot_still_has_its_stragglers_to_come(grower, history):
    lot, records = growing.grown(days=160, by=grower, variety=history, takes=36)
    records[-1].pots = 20
    [lot] = growing.load((lot, records))
    assert lot.stage == "finished"
    found = supply.of_lot(lot, lot.forecasts.get(moment="newest"))
    assert found.here == 20
    assert 14 <= found.to_come <= 16


def test_targets_take_each_pot_once_in_the_order_of_their_day():
    one, nine, seven = Kind(1, 9), Kind(1, None), Kind(1, 7)

    def wanted(pots, day, size=9):
        target = Target(variety_id=1, pot_size_id=size, pots=pots)
        target.wanted_by = date(2026, 3, day)
        return target

    ahead = {
        one: [Coming(date(2026, 3, 2), 10, 0), Coming(date(2026, 3, 9), 10, 4)],
        nine: [Coming(date(2026, 3, 3), 6, 6)],
        seven: [Coming(date(2026, 3, 1), 50, 0)],
    }
    targets = [wanted(12, 3), wanted(12, 10), wanted(9, 10), wanted(5, 11, size=7), wanted(4, 12)]
    found = serve(targets, {one: 8, seven: 1}, ahead).served
    assert [(each.here, each.coming, each.short, each.unsized) for each in found] == [
        (8, 4, 0, 0),
        (0, 12, 0, 0),
        (0, 4, 5, 5),
        (1, 4, 0, 0),
        (0, 0, 4, 1),
    ]


def test_today_serves_targets_of_their_own_size(client, boss, history):
    growing.load(growing.grown(days=220, by=boss, variety=history, takes=10))
    size, other = factories.potsize(), factories.potsize(name="7 cm", diameter_cm=7)
    here = supply.finished()[Kind(history.pk, size.pk)]
    for pots, of in ((here - 5, size), (30, size), (20, other)):
        day = timezone.localdate() + timedelta(days=10)
        Target.objects.create(variety=history, pot_size=of, pots=pots, wanted_by=day)
    says = select(client.get(reverse("today")), "[aria-labelledby=targets] li")
    assert f"{here - 5} here, 0 coming" in says[0]
    assert "5 here, 0 coming · 25 short" in says[1]
    assert "0 here, 0 coming · 20 short" in says[2]


def test_late_says_how_many_and_leads_to_all_of_them(client, grower):
    late = [factories.stuck_lot(days=200, by=grower) for _ in range(11)]
    factories.stuck_lot(days=2, by=grower)
    answer = client.get(reverse("today"))
    [says] = elements(answer, "[aria-labelledby=is-late] p a")
    assert says.text == "All 11 late lots"
    rows = select(client.get(reverse("today") + says.get("href").lstrip("/")), "tbody .code")
    assert len(rows) == len(late)


def test_the_print_says_the_same(client, grower, history):
    factories.stuck_lot(days=100, units=46, variety=history, by=grower)
    outlook.refit()
    pdf = pypdfium2.PdfDocument(client.get(reverse("availability-pdf")).content)
    words = pdf[0].get_textpage().get_text_range().split()
    pdf.close()
    [line] = supply.lines(8)
    row = words[words.index(history.code) :]
    assert row[1:4] == ["9", "cm", str(line.now)]
    shown = [word for word in row[4 : row.index("All")] if word.isdecimal()]
    weeks = [week.pots for week in line.weeks if week.pots or week.high]
    later = [line.later] if line.later else []
    assert shown == [str(pots) for pots in (*weeks, *later, line.cells)]


@given(random_books())
@settings(
    max_examples=8,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],  # each example takes seconds: none is shrunk
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_any_book_has_one_answer(client, grower, monkeypatch, book):
    with passing(), monkeypatch.context() as patch:
        report = csvbook.import_files(
            [(f"{name}.csv", shielded(table)) for name, table in book.items()]
        )
        assert report.faults == []
        agree(client, patch)
