"""Photos of the demo nursery: drawings of plants that there are not, and each says so."""

import math
import zlib
from collections.abc import Iterable
from io import BytesIO

import numpy as np
from django.core.files.base import ContentFile
from numpy.random import Generator
from PIL import Image, ImageDraw

from lots.ledger import photos
from lots.models import Lot, Record, StrikeCheck
from lots.models.lot import STANDING

WIDTH, HEIGHT = 480, 360
LOTS, OF_EACH = 24, 2
BENCH, POT, SOIL = "#b9bdb1", "#8a4b32", "#3a2c22"


def hang(lots: int = LOTS) -> int:
    """Hang drawings on the newest checks of some standing lots; returns how many."""
    shown = Lot.objects.filter(stage__in=STANDING, seen_on__isnull=False)
    count = 0
    for lot in shown.select_related("variety").order_by("-stuck_on", "code")[:lots]:
        checks = StrikeCheck.objects.filter(lot=lot, voided_at=None).select_related("lot", "by")
        for record in checks.order_by("-observed_at")[:OF_EACH]:
            photos.attach(record, drawing(record))
            count += 1
    return count


def drawing(record: Record) -> ContentFile:
    """A tray of the lot on the day of a record: as many leaves as days let expect, in the colours
    of its variety."""
    name = str(record.lot.variety)
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    day = max((record.observed_at.date() - record.lot.stuck_on).days, 0)
    image = Image.new("RGB", (WIDTH, HEIGHT), BENCH)
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, HEIGHT * 0.72, WIDTH, HEIGHT), fill="#8f9488")
    draw.rectangle((40, 240, WIDTH - 40, 325), fill=POT)
    draw.rectangle((40, 240, WIDTH - 40, 256), fill=SOIL)
    hue = tuple(int(value) for value in rng.integers((20, 80, 30), (140, 170, 110)))
    pale = tuple(min(value + 70, 255) for value in hue)
    for at in range(90, WIDTH - 60, 62):
        for leaf in _leaves(rng, at, 250, 24 + 75 * (1 - math.exp(-day / 60))):
            draw.polygon(leaf, fill=hue, outline=pale)
    draw.text((8, HEIGHT - 20), f"Drawn for the demo, not a photo: {name}, day {day}", fill="black")
    out = BytesIO()
    image.save(out, "JPEG", quality=80)
    return ContentFile(out.getvalue(), name=f"demo-{record.uuid.hex}.jpg")


def _leaves(rng: Generator, x: float, y: float, size: float) -> Iterable[list[tuple[float, float]]]:
    """Pointed leaves that rise from one spot."""
    for turn in rng.uniform(-1.0, 1.0, 4):
        ahead, aside = (math.sin(turn), -math.cos(turn)), (math.cos(turn), math.sin(turn))
        long, wide = 1.7 * size * rng.uniform(0.8, 1.2), 0.45 * size
        yield [
            (x + long * s * ahead[0] + w * aside[0], y + long * s * ahead[1] + w * aside[1])
            for s, w in ((0, 0), (0.45, wide), (1, 0), (0.45, -wide))
        ]
