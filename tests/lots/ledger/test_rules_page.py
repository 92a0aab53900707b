"""The rules of the record have one list, and everyone can read it."""

import pytest
from django.urls import reverse

from lots.ledger.rules import Rule
from tests import pages

pytestmark = pytest.mark.django_db


def test_a_grower_reads_every_rule(client, grower):
    client.force_login(grower)
    page = client.get(reverse("rules"))
    assert pages.select(page, "main li") == [str(rule.label) for rule in Rule]
