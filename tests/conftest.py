"""Who is signed in: `grower` and `boss` sign the test client in and are that person."""

import pytest

from tests import factories


@pytest.fixture
def grower(db, client):
    person = factories.person(username="grower", name="Grace Grower", initials="GG")
    client.force_login(person)
    return person


@pytest.fixture
def boss(db, client):
    person = factories.manager(username="manager", name="Max Manager", initials="MM")
    client.force_login(person)
    return person
