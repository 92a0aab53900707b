"""What the tag of a lot says of it."""

import pytest

from labels import lot_tags
from lots.models import Lot
from tests import factories
from tests.lots import trialling

pytestmark = pytest.mark.django_db


def test_a_lot_says_its_flat():
    lot = factories.stuck_lot(flat=factories.flat(code="F-7"))
    [tag] = lot_tags.tags_of([lot], "HTTP://X")
    assert (tag.flat, tag.code, tag.address) == ("F-7", lot.code, f"HTTP://X/T/{lot.code}")


def test_in_a_trial_the_arm_stands_by_the_flat():
    trial = trialling.planned(flats=1)
    lots = list(Lot.objects.filter(arm__trial=trial).order_by("arm__letter"))
    flat = trial.flat_code(1)
    assert [tag.flat for tag in lot_tags.tags_of(lots, "HTTP://X")] == [f"{flat} A", f"{flat} B"]
