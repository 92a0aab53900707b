"""A bench saved at once, whatever is typed in its rows: units are conserved, each row is saved
whole or not at all, what is sent twice is stored once, and undo takes back the whole action."""

from uuid import UUID, uuid4

import pytest
from django.db import transaction
from django.db.models import Sum
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lots.ledger.audit import audit
from lots.models import RECORDS, Lot
from lots.worklists.chosen import key_of_part
from tests import factories
from tests.pages import elements

NUMBER = st.sampled_from(["", "0", "1", "3", "11", "12", "13", "24", "25", "-1", "x", "99999"])
TYPED = {
    "check": {"rooted": NUMBER, "looked_at": NUMBER, "lost_rot": NUMBER, "lost_dried out": NUMBER},
    "loss": {"lost_rot": NUMBER, "lost_pest": NUMBER},
    "pot-up": {"units": NUMBER, "pots": NUMBER},
    "finish": {"pots": NUMBER},
    "leave": {"pots": NUMBER},
    "move": {"go": st.sampled_from(["", "1"])},
}
# Verbs that are likely to follow each other, so that lots get far.
VERBS = st.sampled_from(["check", "loss", "pot-up", "pot-up", "finish", "finish", "leave", "move"])


@st.composite
def pages(draw) -> tuple[str, list[dict[str, str]]]:
    """A verb, and what is typed in the rows of three lots."""
    verb = draw(VERBS)
    row = st.fixed_dictionaries(TYPED[verb])
    return verb, draw(st.lists(row, min_size=3, max_size=3))


def counts(lots: list[Lot]) -> list[tuple[int, ...]]:
    fresh = Lot.objects.in_bulk([lot.pk for lot in lots])
    fields = ("cells", "pots_growing", "pots_finished")
    return [tuple(getattr(fresh[lot.pk], field) for field in fields) for lot in lots]


def records(lots: list[Lot]) -> dict[UUID, int]:
    """Of every record of the lots that holds, by its number, the lot."""
    holding = (model.objects.filter(lot__in=lots, voided_at=None) for model in RECORDS.values())
    return {uuid: lot for some in holding for uuid, lot in some.values_list("uuid", "lot")}


def in_cells(lot: Lot) -> int:
    """Units that are left in cells, added up from the records alone."""
    potted = lot.potup_set.filter(voided_at=None).aggregate(n=Sum("units", default=0))["n"]
    lost = lot.loss_set.filter(voided_at=None, stage="cell").aggregate(n=Sum("units", default=0))
    return lot.units - potted - lost["n"]


def posted(lots: list[Lot], rows: list[dict[str, str]], **common) -> dict:
    """What the page sends: each row's own number, and what is typed in it."""
    now = [Lot.objects.get(pk=lot.pk) for lot in lots]
    keys = [key_of_part(lot, lot.parts[0]) if lot.parts else f"{lot.code}-all" for lot in now]
    data = {"row": keys} | {f"{key}-uuid": str(uuid4()) for key in keys} | common
    for key, row in zip(keys, rows, strict=True):
        data |= {f"{key}-{name}": value for name, value in row.items()}
    return data


@pytest.mark.django_db
def test_a_bench_saved_at_once(client, grower):
    place, size = factories.place(name="H-1"), factories.potsize()
    saved, refused = [], []

    def post_each(typed, undone):
        lots = [factories.stuck_lot(units=24, days=60, by=grower, place=place) for _n in range(3)]
        for verb, rows in typed:
            before, had = counts(lots), records(lots)
            address = reverse("bench", args=[verb]) + f"?place={place.pk}"
            data = posted(lots, rows, place=place.pk, pot_size=size.pk, way="sold")
            answer = client.post(address, data)
            assert answer.status_code in {200, 422}
            after, now = counts(lots), records(lots)
            new = now.keys() - had.keys()
            done, wrong = elements(answer, "li.done"), elements(answer, "li.wrong")
            assert len(done) == len({now[uuid] for uuid in new})
            for lot, (cells, _growing, _finished) in zip(lots, after, strict=True):
                assert cells == in_cells(lot) >= 0
            client.post(address, data)
            assert (counts(lots), records(lots)) == (after, now), "sent twice, stored once"
            if new and undone:
                [undo] = [one.get("href") for one in elements(answer, ".messages a")]
                client.post(undo, {"why": "all of it"})
                assert (counts(lots), records(lots)) == (before, had), "undone"
            saved.extend(done)
            refused.extend(wrong)
        assert not audit().faults

    @settings(max_examples=8, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(st.lists(pages(), min_size=1, max_size=4), st.booleans())
    def run(typed, undone):
        with transaction.atomic():
            post_each(typed, undone)
            transaction.set_rollback(True)

    run()
    assert saved
    assert refused
