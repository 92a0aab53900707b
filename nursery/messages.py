"""Where what is said after a save waits for the next page: with the browser itself, signed, so that
saying it writes nothing; and in the session only where it is too long for a cookie."""

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage
from django.contrib.messages.storage.fallback import FallbackStorage
from django.contrib.messages.storage.session import SessionStorage


class WithTheBrowser(CookieStorage):
    @property
    def cookie_name(self) -> str:
        return "__Host-messages" if settings.SESSION_COOKIE_SECURE else "messages"


class Messages(FallbackStorage):
    storage_classes = (WithTheBrowser, SessionStorage)
