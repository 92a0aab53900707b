"""The demo's photos: drawings, and said to be so."""

import pytest
from PIL import Image

from lots import ledger
from lots.models import Photo
from nursery.demo import pictures
from tests import factories
from tests.lots.entries import check

pytestmark = pytest.mark.django_db


def test_standing_lots_get_drawings_of_their_own_variety_and_day(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    lots = [factories.stuck_lot(days=days, units=48) for days in (10, 90)]
    for lot in lots:
        ledger.record(lot, [check(factories.person())])
    assert pictures.hang() == 2
    drawn = [Image.open(photo.image.path) for photo in Photo.objects.order_by("lot")]
    assert [image.size for image in drawn] == [(pictures.WIDTH, pictures.HEIGHT)] * 2
    young, old = (
        sum(image.crop((0, 0, 480, 238)).convert("L").histogram()[:150]) for image in drawn
    )
    assert young < old  # leaves grow
