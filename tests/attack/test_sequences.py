"""Any sequence of the ledger's verbs and voids, from several phones, late and repeated.

240 sequences, and 80 on PostgreSQL (`.ci/test`); `ATTACK_SEQUENCES=50000` in the environment runs
more by hand.
"""

import os

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.attack.machine import Bench, Stand

SHARES = 4  # so that several processes can work on them
SEQUENCES = int(os.environ.get("ATTACK_SEQUENCES", "240"))


@pytest.mark.django_db
@pytest.mark.parametrize("share", range(SHARES))
def test_the_book_adds_up_or_the_step_is_refused(share):
    class OnThisStand(Bench):
        stand = Stand()

    run_state_machine_as_test(
        OnThisStand,
        settings=settings(
            max_examples=SEQUENCES // SHARES,
            stateful_step_count=6,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
