"""Photos on records and varieties: made small, turned upright, and freed of what the phone wrote
into them (place, owner, device) before they are kept."""

import uuid as uuidlib
from io import SEEK_END, BytesIO

from django.contrib.auth.base_user import AbstractBaseUser
from django.core.files.base import ContentFile
from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _
from PIL import Image, ImageFile, ImageOps

from lots.ledger import Refused
from lots.models import Photo, Record, Variety

LARGEST_FILE = 25 * 1024 * 1024  # bytes; a phone's photo has 3 to 12 MB
FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 40_000_000
LONGEST_EDGE = 1600  # pixels
SMALL_EDGE = 112  # pixels of a square in a list: 56 on a screen of two a point
END_OF_JPEG = b"\xff\xd9"


def shrunk(upload) -> ContentFile:
    """The upload as a JPEG of at most 1600 pixels, with no metadata. Raises Refused."""
    if upload.size > LARGEST_FILE:
        raise Refused(_("This photo is larger than 25 MB; take a smaller one."), "photo")
    # WeasyPrint, which draws the tags, tells Pillow to fill up pictures that break off.
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with Image.open(upload, formats=FORMATS) as image:
            check_pixels(image)
            image.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))  # a JPEG is read no larger than needed
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except Refused:
        raise
    except Exception as fault:  # a broken file makes the decoders fail in many ways
        raise Refused(
            _("This file can't be read as a photo; JPEG, PNG and WebP can."), "photo"
        ) from fault
    upright.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
    out = BytesIO()
    upright.save(out, "JPEG", quality=80, optimize=True)
    return ContentFile(out.getvalue(), name=f"{uuidlib.uuid4().hex}.jpg")


def check_pixels(image: Image.Image) -> None:
    """Raise Refused for a picture that would fill the memory. Only its head has been read yet: a
    file of a few hundred kilobytes can unfold to gigabytes."""
    width, height = image.size
    if width * height > MOST_PIXELS:
        raise Refused(
            _("This photo has %(n)s megapixels; 40 are the most. Take a smaller one.")
            % {"n": round(width * height / 1_000_000)},
            "photo",
        )


def size_of(photo: Photo) -> tuple[int, int] | None:
    """Width and height of a photo in pixels; None if its file is missing or breaks off."""
    try:
        with photo.image.open("rb") as file, Image.open(file, formats=FORMATS) as image:
            size = image.size
            file.seek(-len(END_OF_JPEG), SEEK_END)
            whole = file.read() == END_OF_JPEG
    except (OSError, ValueError, SyntaxError):  # whatever Pillow says of what is no picture
        return None
    return size if whole else None


def small(photo: Photo) -> bytes:
    """A photo as lists show it, as a JPEG. Raises OSError where its file is missing or broken."""
    out = BytesIO()
    with photo.image.open("rb") as file, Image.open(file, formats=FORMATS) as image:
        image.draft("RGB", (SMALL_EDGE, SMALL_EDGE))
        ImageOps.fit(image.convert("RGB"), (SMALL_EDGE, SMALL_EDGE)).save(out, "JPEG", quality=70)
    return out.getvalue()


def attach(record: Record, image: ContentFile) -> Photo:
    """Hang a shrunk photo on a record. Raises OSError, and leaves no half file, on a full disk."""
    photo = Photo(lot=record.lot, record=record.uuid, taken_at=record.observed_at, by=record.by)
    return _saved(photo, image)


def attach_to_variety(variety: Variety, image: ContentFile, by: AbstractBaseUser) -> Photo:
    """Hang a shrunk photo on a variety. Raises OSError as `attach` does."""
    return _saved(Photo(variety=variety, taken_at=timezone.now(), by=by), image)


def remove_from_variety(photo: Photo) -> None:
    """Take a variety's photo away, file and all; those of records stay."""
    with transaction.atomic():
        photo.delete()
        transaction.on_commit(lambda: photo.image.storage.delete(photo.image.name))


def of_variety(variety: Variety) -> QuerySet[Photo]:
    """Its own and those of its lots, the newest first."""
    photos = Photo.objects.filter(Q(variety=variety) | Q(lot__variety=variety))
    return photos.select_related("lot", "variety")


def _saved(photo: Photo, image: ContentFile) -> Photo:
    name = photo._meta.get_field("image").generate_filename(None, image.name)
    photo.image = name
    try:
        photo.image.storage.save(name, image)
    except OSError:
        photo.image.storage.delete(name)
        raise
    photo.save()
    return photo
