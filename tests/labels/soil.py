"""Soil on a printed QR symbol: seeded irregular blots, a slight turn and blur, and a reader.

A simulation of what dirt does to a symbol as it is printed, not of a camera.
"""

from dataclasses import dataclass

import numpy as np
import pypdfium2 as pdfium
import zxingcpp
from PIL import Image, ImageFilter

from labels import layout, qr, sheet
from labels.stock import LabelStock
from tests.labels.samples import address, tag

DPI = 300
DOTS_A_MM = DPI / 25.4
TONES = (55, 190)  # wet peat, dry perlite dust: grey levels
TURN = 10  # degrees to either side


@dataclass(frozen=True)
class Printed:
    """A symbol as printed: grey levels with its quiet zone, and where its squares begin."""

    image: np.ndarray
    quiet: int
    side: int
    modules: int
    text: str

    @property
    def finder(self) -> int:
        """The side of a finder pattern with its white rim, in dots: 8 squares."""
        return round(self.side * 8 / self.modules)


def printed(stock: LabelStock) -> Printed:
    """The symbol of the usual tag on a stock, cut out of the rasterised sheet."""
    drawing = layout.draw(tag(), stock)
    page = pdfium.PdfDocument(sheet.make([tag()], stock).pdf)[0]
    dots = page.render(scale=DPI / 72, grayscale=True).to_numpy()
    left = round((stock.left + drawing.qr_x) * DOTS_A_MM)
    top = round((stock.top + drawing.qr_y) * DOTS_A_MM)
    whole = round(drawing.symbol.side_mm * DOTS_A_MM)
    quiet = round(qr.QUIET * drawing.symbol.module_mm * DOTS_A_MM)
    image = dots[top : top + whole, left : left + whole].copy()
    side = round(drawing.symbol.modules * drawing.symbol.module_mm * DOTS_A_MM)
    return Printed(image, quiet, side, drawing.symbol.modules, address().upper())


def blot(rng: np.random.Generator, side: int, area: float, inside: bool) -> np.ndarray:
    """Where an irregular blot covers a square of `side` dots: its centre is anywhere on it.

    `area` in dots is what it covers of the square if `inside`, else of a plane (its edge may then
    hang over).
    """
    y, x = np.mgrid[:side, :side]
    cx, cy = rng.uniform(0, side, 2)
    angle = np.arctan2(y - cy, x - cx)
    edge = np.ones_like(angle)
    for waves in range(2, 7):
        edge += rng.normal(0, 0.5 / waves) * np.cos(waves * angle + rng.uniform(0, 2 * np.pi))
    distance = np.hypot(x - cx, y - cy) / np.clip(edge, 0.3, None)
    if inside:
        return distance <= np.partition(distance, round(area), axis=None)[round(area)]
    return distance <= np.sqrt(area / np.pi)


def touches_a_finder(covered: np.ndarray, finder: int) -> bool:
    corners = (covered[:finder, :finder], covered[:finder, -finder:], covered[-finder:, :finder])
    return any(bool(corner.any()) for corner in corners)


def trial(
    rng: np.random.Generator, symbol: Printed, area: float, inside: bool
) -> tuple[bool, bool]:
    """Whether the finders were clear, and whether the symbol was read.

    Raises `AssertionError` if something else than its text was read.
    """
    covered = blot(rng, symbol.side, area, inside)
    image = symbol.image.copy()
    square = slice(symbol.quiet, symbol.quiet + symbol.side)
    image[square, square][covered] = rng.choice(TONES)
    margin = round(symbol.side / 4)
    picture = Image.fromarray(np.pad(image, margin, constant_values=255))
    picture = picture.rotate(rng.uniform(-TURN, TURN), Image.Resampling.BICUBIC, fillcolor=255)
    picture = picture.filter(ImageFilter.GaussianBlur(0.8))
    found = zxingcpp.read_barcodes(np.asarray(picture), formats=zxingcpp.BarcodeFormat.QRCode)
    assert all(code.text == symbol.text for code in found)
    return not touches_a_finder(covered, symbol.finder), bool(found)


def shares(
    symbol: Printed, area: float, inside: bool, trials: int, seed: int = 7
) -> tuple[float, float]:
    """The share read of all trials, and of those whose finders were clear."""
    rng = np.random.default_rng(seed)
    done = [trial(rng, symbol, area, inside) for _ in range(trials)]
    clear = [read for finders_clear, read in done if finders_clear]
    return sum(read for _, read in done) / trials, sum(clear) / max(len(clear), 1)
