"""Photos: made small, freed of what the phone wrote into them, and with their record or not at
all."""

import errno
import random
from importlib import import_module
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from lots import ledger
from lots.catalogue.faces import faces
from lots.ledger import Refused, photos
from lots.models import Photo, StrikeCheck
from tests.factories import person, stuck_lot
from tests.lots.entries import check
from tests.pages import elements, select

GPS, ORIENTATION, MAKER = 0x8825, 0x0112, 0x010F
JPEG, PNG, WEBP = "JPEG", "PNG", "WEBP"


@pytest.fixture(autouse=True)
def photo_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


def picture(format_=JPEG, size=(60, 40), **more) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, "darkgreen").save(out, format_, **more)
    return out.getvalue()


def upload(data: bytes, name="leaf.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data)


@pytest.mark.parametrize("format_", [JPEG, PNG, WEBP])
def test_a_photo_is_kept_as_a_small_jpeg_of_a_name_of_its_own(format_):
    made = photos.shrunk(upload(picture(format_, (4000, 1000)), "../../etc/leaf.php"))
    with Image.open(made) as image:
        assert (image.format, image.size) == (JPEG, (1600, 400))
    assert made.name.endswith(".jpg")
    assert "leaf" not in made.name


def test_a_photo_is_turned_upright_and_says_nothing_of_where_and_with_what_it_was_taken():
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = 6, "A phone"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    sent = picture(JPEG, (60, 40), exif=exif)
    assert b"A phone" in sent
    with Image.open(photos.shrunk(upload(sent))) as image:
        assert image.size == (40, 60)
        assert not image.getexif()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"GIF89a",
        b"\xff\xd8\xff\xe0 not a picture",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        picture(JPEG)[:40],
        picture(PNG)[:20],
        picture("TIFF"),
        b"%PDF-1.7",
    ],
    ids=range(8),
)
def test_what_is_no_photo_is_refused(data):
    with pytest.raises(ledger.Refused) as refusal:
        photos.shrunk(upload(data))
    assert refusal.value.field == "photo"


def test_broken_photos_are_read_or_refused_and_never_a_fault():
    """400 photos with bytes changed, cut out and put in."""
    rng = random.Random(7)
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    good = [picture(format_, exif=exif) for format_ in (JPEG, PNG, WEBP)]
    refused = 0
    for _ in range(400):
        data = bytearray(rng.choice(good))
        for _ in range(rng.choice((1, 3, 10))):
            at = rng.randrange(len(data))
            data[at : at + rng.randrange(4)] = rng.randbytes(rng.randrange(4))
        try:
            photos.shrunk(upload(bytes(data)))
        except ledger.Refused:
            refused += 1
    assert 0 < refused < 400


@pytest.mark.parametrize("format_", [JPEG, PNG, WEBP])
def test_a_photo_that_breaks_off_is_refused_though_tags_were_drawn(format_):
    import_module("labels.pdf")  # WeasyPrint tells Pillow to make do with half a picture
    noise = Image.effect_noise((200, 200), 80).convert("RGB")
    out = BytesIO()
    noise.save(out, format_)
    photos.shrunk(upload(out.getvalue()))
    with pytest.raises(ledger.Refused, match="can't be read"):
        photos.shrunk(upload(out.getvalue()[: len(out.getvalue()) // 2]))


def test_a_small_file_that_unfolds_to_a_huge_picture_is_refused():
    out = BytesIO()
    Image.new("1", (20_000, 20_000)).save(out, PNG)
    assert len(out.getvalue()) < 1_000_000
    with pytest.raises(ledger.Refused, match="can't be read"):
        photos.shrunk(upload(out.getvalue()))


def test_a_file_that_is_too_large_is_refused_unread():
    sent = upload(b"")
    sent.size = photos.LARGEST_FILE + 1
    with pytest.raises(ledger.Refused, match="25 MB"):
        photos.shrunk(sent)


def post_check(client, lot, photo, uuid=None):
    sent = {"uuid": uuid or uuid4(), "looked_at": 10, "rooted": 4, "photo": photo}
    return client.post(f"/lots/{lot.code}/check/", sent)


@pytest.mark.django_db
def test_a_photo_comes_with_its_record_and_is_shown_to_the_signed_in(client, grower, photo_folder):
    lot, uuid = stuck_lot(units=10), uuid4()
    for _ in range(2):  # a form sent twice is one record with one photo
        assert post_check(client, lot, upload(picture()), uuid).status_code == 302
    photo = Photo.objects.get()
    assert (photo.record, photo.lot, photo.by) == (uuid, lot, grower)
    assert len([path for path in photo_folder.rglob("*") if path.is_file()]) == 1
    page = client.get(f"/photos/{photo.pk}/")
    assert page["Content-Type"] == "image/jpeg"
    assert b"".join(page.streaming_content)[:2] == b"\xff\xd8"
    client.logout()
    assert client.get(f"/photos/{photo.pk}/").status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize("left", [None, 0, 1, 20, 300, -1], ids=str)
def test_a_photo_that_is_gone_or_cut_off_on_the_disk_is_told_on_the_page(client, grower, left):
    lot = stuck_lot(units=10)
    post_check(client, lot, upload(picture()))
    photo = Photo.objects.get()
    whole = client.get(f"/lots/{lot.code}/")
    assert select(whole, "img.photo")
    path = Path(photo.image.path)
    if left is None:
        path.unlink()
        assert client.get(f"/photos/{photo.pk}/").status_code == 404
    else:
        path.write_bytes(path.read_bytes()[:left])
    page = client.get(f"/lots/{lot.code}/")
    assert page.status_code == 200
    assert not select(page, "img.photo")
    assert photo.image.name in select(page, ".note.wrong")[0]


@pytest.mark.django_db
def test_a_bad_photo_is_told_at_its_field_and_nothing_is_recorded(client, grower):
    page = post_check(client, stuck_lot(units=10), upload(b"no photo"))
    assert page.status_code == 422
    assert "can't be read as a photo" in " ".join(select(page, ".error, .errorlist, .wrong"))
    assert not StrikeCheck.objects.exists()


@pytest.mark.django_db
def test_a_disk_that_fills_up_under_a_photo_leaves_no_half_file(monkeypatch, photo_folder):
    lot = stuck_lot(units=10)
    [(entry, _)] = ledger.record(lot, [check(person())])
    image = photos.shrunk(upload(picture(size=(1600, 1600))))

    def chunks():
        yield image.file.read(50)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(image, "chunks", chunks)
    with pytest.raises(OSError, match="No space"):
        photos.attach(entry, image)
    assert not [path for path in photo_folder.rglob("*") if path.is_file()]
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_check_whose_photo_does_not_fit_on_the_disk_is_not_recorded(client, grower, monkeypatch):
    """So that sending it again brings both."""

    def full(*_args):
        raise OSError(errno.ENOSPC, "No space left on device")

    lot, uuid = stuck_lot(units=10), uuid4()
    with monkeypatch.context() as patched:
        patched.setattr("lots.ledger.photos.attach", full)
        with pytest.raises(OSError, match="No space"):
            post_check(client, lot, upload(picture()), uuid)
    assert not StrikeCheck.objects.exists()
    assert post_check(client, lot, upload(picture()), uuid).status_code == 302
    assert Photo.objects.count() == 1


def test_a_photo_of_over_40_megapixels_is_refused_before_it_is_read(monkeypatch):
    out = BytesIO()
    Image.new("1", (8_000, 5_001)).save(out, PNG)

    def read(*_args):
        raise AssertionError("it was unfolded")

    monkeypatch.setattr(Image.Image, "convert", read)
    with pytest.raises(Refused, match="40 megapixels"):
        photos.shrunk(upload(out.getvalue()))


@pytest.mark.django_db
def test_photos_stand_side_by_side_by_day_and_one_is_the_varietys_picture(client, boss):
    lot = stuck_lot(units=10, days=30)
    for _n in range(2):
        post_check(client, lot, upload(picture()))
    page = client.get(f"/lots/{lot.code}/")
    assert select(page, ".strip li") == ["day 30", "day 30"]
    first, second = Photo.objects.order_by("pk")
    assert faces([lot.variety_id]) == {lot.variety_id: second}  # the newest, until one is chosen
    client.post(f"/photos/{first.pk}/face/")
    assert faces([lot.variety_id]) == {lot.variety_id: first}
    for address in ("/varieties/", f"/varieties/{lot.variety_id}/"):
        sources = [one.get("src") for one in elements(client.get(address), "img.face")]
        assert sources == [f"/photos/{first.pk}/small.jpg"]
    small = client.get(f"/photos/{first.pk}/small.jpg")
    assert len(small.content) < 6_000
    assert Image.open(BytesIO(small.content)).size == (112, 112)
    first.image.storage.delete(first.image.name)
    assert client.get(f"/photos/{first.pk}/small.jpg").status_code == 404
    first.delete()
    assert faces([lot.variety_id]) == {lot.variety_id: second}


@pytest.mark.django_db
def test_the_picture_of_a_variety_is_the_managers_to_choose(client, grower):
    lot = stuck_lot(units=10)
    post_check(client, lot, upload(picture()))
    assert client.post(f"/photos/{Photo.objects.get().pk}/face/").status_code == 403
