"""How long a sheet of tags takes, against reportlab drawing the same tags in the same run.

Both sides make the QR matrices and write the same lines of text at the same places; reportlab is
given the places, so that it only draws. Run: ``python -m tests.bench.tags``.
"""

import gc
import io
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial

from fontTools.ttLib import TTFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont as ReportlabFont
from reportlab.pdfgen.canvas import Canvas

from labels import layout, qr, sheet, typeface
from labels.pdf import MM, Placed, runs
from labels.stock import LabelStock, shipped
from labels.tag import Tag

STOCK = "A4 sheet, 3 × 8 labels 70 × 37 mm"
COUNTS = (300, 1200)
GENERA = ("Begonia", "Plectranthus", "Peperomia", "Begonia masoniana", "Coleus", "Tradescantia")
FIRST = ("Silver", "Evening", "Copper", "Quiet", "Northern", "Little", "Velvet")
SECOND = ("Moth", "Harbour", "Lantern", "Duchess of the Meadows", "Fern", "Thunder", "Tide", "Sky")
METHODS = ("Leaf wedge", "Whole leaf", "Stem section", "Tip cutting")
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def make_tags(count: int) -> list[Tag]:
    """Tags of 168 varieties, no two alike."""
    made = []
    for i in range(count):
        code = "".join(ALPHABET[i * (7 + 2 * k) // 32**k % 32] for k in range(5)) + ALPHABET[i % 32]
        made.append(
            Tag(
                name=(
                    (GENERA[i % len(GENERA)] + " ", True),
                    (f"'{FIRST[i % len(FIRST)]} {SECOND[i % len(SECOND)]}'", False),
                ),
                code=code,
                address=f"http://192.168.1.20:8000/t/{code}",
                stuck_on=date(2026, 3, 2) + timedelta(days=i % 90),
                method=METHODS[i % len(METHODS)],
                count=f"{24 + i % 60} × 1",
                initials="MK",
                flat=f"B{i % 3}-{i % 40:02d}",
            )
        )
    return made


def register_fonts() -> None:
    """The tag's fonts for reportlab, which reads no woff2."""
    for face in typeface.FACES:
        with TTFont(typeface.file(typeface.FAMILIES[0], face)) as font:
            font.flavor = None
            plain = io.BytesIO()
            font.save(plain)
        plain.seek(0)
        pdfmetrics.registerFont(ReportlabFont(face, plain))


def by_reportlab(pages: list[list[Placed]], tags: list[Tag], stock: LabelStock) -> bytes:
    """The same drawings by reportlab, each QR matrix made anew."""
    target = io.BytesIO()
    height = stock.page_height
    canvas = Canvas(target, pagesize=(stock.page_width * MM, height * MM), pageCompression=1)
    rest = iter(tags)
    for page in pages:
        for placed in page:
            drawing = placed.drawing
            symbol = qr.symbol(next(rest).address, drawing.symbol.side_mm)
            module = symbol.module_mm
            path = canvas.beginPath()
            left = placed.x + drawing.qr_x + qr.QUIET * module
            top = height - placed.y - drawing.qr_y - qr.QUIET * module
            for x, y, length in runs(symbol.matrix):
                path.rect(
                    (left + x * module) * MM,
                    (top - (y + 1) * module) * MM,
                    length * module * MM,
                    module * MM,
                )
            canvas.drawPath(path, stroke=0, fill=1)
            for text in drawing.texts:
                writing = canvas.beginText(
                    (placed.x + text.x) * MM,
                    (height - placed.y - text.y - 0.8 * text.height) * MM,
                )
                for piece, face in text.line:
                    writing.setFont(face, text.size)
                    writing.textOut(piece)
                canvas.drawText(writing)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


def quickest(*works: Callable[[], object], times: int = 5) -> list[float]:
    """Processor seconds of the quickest run of each, in turns: a busy machine hits all alike."""
    best = [float("inf")] * len(works)
    for _ in range(times):
        for i, work in enumerate(works):
            gc.collect()
            begun = time.process_time()
            work()
            best[i] = min(best[i], time.process_time() - begun)
    return best


def main() -> None:
    stock = shipped()[STOCK]
    register_fonts()
    sheet.make(make_tags(1), stock)  # fonts are read once a process
    per_tag = {}
    for count in COUNTS:
        tags = make_tags(count)
        drawings = [layout.draw(tag, stock) for tag in tags]
        pages = sheet.impose(drawings, stock)
        ours, theirs, laid_out = quickest(
            partial(sheet.make, tags, stock),
            partial(by_reportlab, pages, tags, stock),
            lambda tags=tags: [layout.draw(tag, stock) for tag in tags],
        )
        per_tag[count] = ours / count
        print(
            f"{count} tags: {ours:.2f} s (of it layout and QR {laid_out:.2f} s), "
            f"reportlab {theirs:.2f} s, ratio {ours / theirs:.2f} (aim 2.5 or less)"
        )
    few, many = COUNTS
    print(
        f"time a tag at {many} over that at {few}: {per_tag[many] / per_tag[few]:.2f} (linear: 1)"
    )


if __name__ == "__main__":
    main()
