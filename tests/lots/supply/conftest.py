"""Books with something to plan, worked out at once in the test's own connection."""

import pytest
from django.utils import timezone

from lots.supply import plan
from tests import factories
from tests.lots.supply.planning import ahead, known_variety, plants


@pytest.fixture
def today():
    return timezone.localdate()


@pytest.fixture
def variety(monkeypatch):
    # A thread has a connection of its own, which does not see what the test has written.
    def at_once(patience):
        plan.renew(2)

    monkeypatch.setattr(plan, "work", at_once)
    found = known_variety(code="RX04", genus="Begonia", cultivar="Silver Test")
    plants(found, 6)
    return found


@pytest.fixture
def target(variety):
    return factories.target(variety=variety, pots=60, wanted_by=ahead(24), for_whom="fair")
