"""The session engine: Django's own database engine, with the person beside each session, so
that a manager can see and end the sign-ins of a lost phone."""

from datetime import datetime

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore


class SessionStore(DatabaseStore):
    @classmethod
    def get_model_class(cls):
        from nursery.models import SignIn

        return SignIn

    def create_model_instance(self, data):
        row = super().create_model_instance(data)
        person = data.get(SESSION_KEY)
        row.person_id = int(person) if person else None
        row.device = data.get("device", "")
        row.since = datetime.fromisoformat(data["since"]) if "since" in data else None
        return row
