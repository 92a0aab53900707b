"""Run on the attacked book itself, as a process of its own: `python -m tests.attack.inside WORD`.

`seed LOTS UNITS` makes people, a flat and lots; `tell` says what stands; both in JSON.
"""

import json
import sys

import django

django.setup()

from lots.audit import audit  # noqa: E402
from lots.models import RECORDS, Lot  # noqa: E402
from lots.models.lot import COUNTS  # noqa: E402
from tests.factories import flat, method, person, place, session, stuck_lot, variety  # noqa: E402


def seed(lots: int, units: int) -> dict:
    person(username="grower")
    shared = {"variety": variety(), "method": method(), "session": session(), "flat": flat()}
    bench, by = place(name="1-01"), person()
    made = [stuck_lot(units=units, by=by, place=bench, **shared) for _ in range(lots)]
    return {"lots": [lot.code for lot in made], "place": bench.pk}


def tell() -> dict:
    stored = [
        str(uuid) for model in RECORDS.values() for (uuid,) in model.objects.values_list("uuid")
    ]
    counts = Lot.objects.values("code", *COUNTS)
    return {
        "stored": stored,
        "lots": {row.pop("code"): row for row in counts},
        "faults": [fault.says for fault in audit().faults],
    }


if __name__ == "__main__":
    word, *numbers = sys.argv[1:]
    answer = {"seed": seed, "tell": tell}[word](*map(int, numbers))
    sys.stdout.write(json.dumps(answer))
