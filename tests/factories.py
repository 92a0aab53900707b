"""Plain functions that make one thing of the book each; every field can be given."""

from datetime import date, timedelta
from itertools import count

from django.contrib.auth import get_user_model
from django.utils import timezone

from lots import ledger
from lots.forecast import handbook
from lots.models import (
    CropGroup,
    Cut,
    Flat,
    Lot,
    Method,
    NotedChange,
    Place,
    PotSize,
    StickingSession,
    StockPlant,
    Target,
    Variety,
)

numbers = count(1)
PASSWORD = "peat-and-perlite"


def person(**fields):
    n = next(numbers)
    given = {"username": f"p{n}", "name": f"Person {n}", "initials": f"P{n}"} | fields
    return get_user_model().objects.create_user(password=PASSWORD, **given)


def manager(**fields):
    return person(**{"role": "manager"} | fields)


def group(**fields) -> CropGroup:
    name = fields.pop("name", "rex begonia")
    defaults = {"roots_like": handbook.propose_kind(name)} | fields
    return CropGroup.objects.get_or_create(name=name, defaults=defaults)[0]


def method(**fields) -> Method:
    name = fields.pop("name", "leaf wedge")
    cut_like = handbook.propose_method(name)
    defaults = {"source_part": "leaf", "needs_shoot": True, "cut_like": cut_like} | fields
    return Method.objects.get_or_create(name=name, defaults=defaults)[0]


def potsize(**fields) -> PotSize:
    name = fields.pop("name", "9 cm")
    return PotSize.objects.get_or_create(name=name, defaults={"diameter_cm": 9} | fields)[0]


def variety(**fields) -> Variety:
    n = next(numbers)
    given = {"code": f"V{n}", "genus": "Begonia", "cultivar": f"Sort {n}"} | fields
    return Variety.objects.create(**({"group": group()} | given))


def place(**fields) -> Place:
    n = next(numbers)
    return Place.objects.create(**{"name": f"1-{n:02}", "walk_order": n} | fields)


def noted_change(**fields) -> NotedChange:
    given = {"day": timezone.localdate() - timedelta(days=300), "what": "new boiler"}
    return NotedChange.objects.create(**given | fields)


def target(**fields) -> Target:
    given = {"pots": 60, "wanted_by": timezone.localdate() + timedelta(days=30)} | fields
    kind = {"variety": fields.get("variety") or variety(), "pot_size": potsize()}
    return Target.objects.create(**kind | given)


def flat(**fields) -> Flat:
    return Flat.objects.create(**{"code": f"F{next(numbers)}"} | fields)


def stock_plant(**fields) -> StockPlant:
    # With a hyphen no code is as long as a lot's and shown in two groups, whatever its number.
    given = {"code": f"SP-{next(numbers)}", "since": date(2020, 1, 1)} | fields
    return StockPlant.objects.create(**({"variety": fields.get("variety") or variety()} | given))


def session(**fields) -> StickingSession:
    given = {"code": f"S{next(numbers)}", "day": timezone.localdate()} | fields
    return StickingSession.objects.create(**given)


def planned_lot(*, plants: tuple[StockPlant, ...] = (), **fields) -> Lot:
    given = {"planned_units": 48} | fields
    if "variety" not in given:
        given["variety"] = plants[0].variety if plants else variety()
    if "method" not in given:
        given["method"] = method()
    if "session" not in given:
        given["session"] = session()
    cuts = [Cut(stock_plant=plant, order=n) for n, plant in enumerate(plants)]
    return ledger.plan(Lot(**given), cuts)


def stuck_lot(*, days: int = 40, units: int = 48, by=None, place=None, **fields) -> Lot:
    """A lot stuck so many days ago."""
    lot = planned_lot(planned_units=units, **fields)
    on = timezone.localdate() - timedelta(days=days)
    return ledger.stick(lot, units=units, on=on, by=by or person(), place=place, flat=lot.flat)
