"""Every QR that the service prints, read back: all stocks, kinds of tag and names, at three
resolutions; then what soil does to each stock's symbol. Run: ``python -m tests.bench.scan``.
"""

import math
import time

from labels import sheet
from labels.stock import shipped
from labels.tag import Tag
from tests.labels import soil
from tests.labels.samples import NAMES, address, decoded, tag

RESOLUTIONS = (203, 300, 600)
TRIALS = 200
POT = {"day_word": "Potted", "count": "9 cm", "initials": ""}
STOCK_PLANT = {"day_word": "Since", "method": "", "count": "", "initials": "", "flat": ""}
KINDS = {"lot": {}, "pot": POT, "stock plant": STOCK_PLANT}


def read_back() -> None:
    good = tried = 0
    for kind, facts in KINDS.items():
        tags: list[Tag] = [tag(name, **facts) for name in NAMES]
        for name, stock in shipped().items():
            pdf = sheet.make(tags, stock).pdf
            expected = sorted(stock.faces * [address(name).upper() for name in NAMES])
            for dpi in RESOLUTIONS:
                found = sorted(decoded(pdf, dpi))
                tried += len(expected)
                good += len(expected) if found == expected else len(set(found) & set(expected))
                if found != expected:
                    print(f"not all read: {name}, {kind}, {dpi} dpi: {found}")
    print(f"read back exactly: {good} of {tried}")


def soiled() -> None:
    print("share read of all trials / of those with the corner patterns clear, in per cent")
    print(f"{'':45}{'5 % soiled':>12}{'10 %':>12}{'3 mm blot':>12}{'5 mm blot':>12}")
    for name, stock in shipped().items():
        symbol = soil.printed(stock)
        cells = [(share * symbol.side**2, True) for share in (0.05, 0.1)]
        cells += [(math.pi * (mm * soil.DOTS_A_MM / 2) ** 2, False) for mm in (3, 5)]
        figures = [soil.shares(symbol, area, inside, TRIALS) for area, inside in cells]
        row = "".join(f"{100 * a:6.0f} /{100 * c:4.0f}" for a, c in figures)
        print(f"{name:45}{row}")


if __name__ == "__main__":
    begun = time.perf_counter()
    read_back()
    soiled()
    print(f"{time.perf_counter() - begun:.0f} s")
