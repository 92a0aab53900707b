"""The health check."""

import pytest
from django.db import connection

from nursery.models import SignIn


@pytest.mark.django_db
def test_ok_without_signing_in(client):
    answer = client.get("/healthz")
    assert (answer.status_code, answer.content) == (200, b"ok")
    assert "no-store" in answer["Cache-Control"]
    assert not SignIn.objects.exists()
    assert client.post("/healthz").status_code == 405


@pytest.mark.django_db
def test_a_database_that_cannot_be_written_is_503(client):
    if connection.vendor == "sqlite":
        on, off = "PRAGMA query_only = ON", "PRAGMA query_only = OFF"
    else:
        on, off = "SET TRANSACTION READ ONLY", "SELECT 1"
    with connection.cursor() as cursor:
        cursor.execute(on)
        try:
            answer = client.get("/healthz")
        finally:
            cursor.execute(off)
    assert answer.status_code == 503
    assert b"can't be written" in answer.content
