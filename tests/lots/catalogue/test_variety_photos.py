"""Photos of varieties themselves: hung, chosen, removed, and never on two things."""

from pathlib import Path
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from lots.catalogue.faces import faces
from lots.ledger import photos
from lots.models import Photo
from tests.factories import person, stuck_lot
from tests.lots.ledger.test_photos import photo_folder, picture, post_check, upload
from tests.pages import elements, select

__all__ = ["photo_folder"]  # a fixture, for each test here

pytestmark = pytest.mark.django_db


def test_a_photo_may_hang_on_a_variety_itself_and_be_its_picture(client, grower, photo_folder):
    lot = stuck_lot(units=10)
    post_check(client, lot, upload(picture()))
    page = f"/varieties/{lot.variety_id}/"
    assert client.post(page + "photo/", {"photo": upload(picture())}).status_code == 302
    own = Photo.objects.get(variety=lot.variety)
    assert faces([lot.variety_id]) == {lot.variety_id: own}  # the newest
    assert len(elements(client.get(page), ".strip img")) == 2
    assert client.get(f"/photos/{own.pk}/remove/").status_code == 200
    assert client.post(f"/photos/{own.pk}/remove/").status_code == 302
    assert not Photo.objects.filter(pk=own.pk).exists()
    assert faces([lot.variety_id])[lot.variety_id].lot == lot


def test_a_removed_photo_takes_its_file_along_and_one_of_a_record_stays(
    client, boss, photo_folder, django_capture_on_commit_callbacks
):
    lot = stuck_lot(units=10)
    post_check(client, lot, upload(picture()))
    client.post(f"/varieties/{lot.variety_id}/photo/", {"photo": upload(picture())})
    own, of_record = Photo.objects.get(lot=None), Photo.objects.get(lot=lot)
    client.post(f"/photos/{own.pk}/face/", {"variety": "1"})
    assert client.post(f"/photos/{of_record.pk}/remove/").status_code == 404
    with django_capture_on_commit_callbacks(execute=True):
        client.post(f"/photos/{own.pk}/remove/")
    assert [path.name for path in photo_folder.rglob("*.jpg")] == [Path(of_record.image.name).name]
    lot.variety.refresh_from_db()
    assert lot.variety.face is None


def test_what_is_no_photo_of_a_variety_is_told_at_its_field(client, grower, photo_folder):
    variety = stuck_lot(units=10).variety
    for sent in ({}, {"photo": upload(b"no picture")}):
        answer = client.post(f"/varieties/{variety.pk}/photo/", sent)
        assert answer.status_code == 422
        assert len(elements(answer, ".errorlist")) == 1
    assert not Photo.objects.exists()


def test_somebody_elses_photo_of_a_variety_stays(client, grower, photo_folder):
    variety = stuck_lot(units=10).variety
    photo = photos.attach_to_variety(variety, photos.shrunk(upload(picture())), person())
    assert client.post(f"/photos/{photo.pk}/remove/").status_code == 403
    assert "Remove" not in " ".join(select(client.get(f"/varieties/{variety.pk}/"), ".strip li"))


@pytest.mark.parametrize("hangs", [{}, {"both": True}], ids=["on nothing", "on two things"])
def test_the_database_wants_a_photo_to_hang_on_one_thing(hangs):
    lot = stuck_lot(units=10)
    more = {"lot": lot, "record": uuid4(), "variety": lot.variety} if hangs else {}
    with pytest.raises(IntegrityError), transaction.atomic():
        Photo.objects.create(taken_at=timezone.now(), by=person(), image="a.jpg", **more)
