"""The back door: Django's admin, for managers, behind our own sign-in."""

from django.contrib import admin
from django.contrib.auth import admin as auth_admin
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext_lazy as _

from lots.admin import ReadOnly
from lots.views.access import manager_only
from nursery.models import Person


@manager_only
def login(request: HttpRequest, extra_context: dict | None = None) -> HttpResponse:
    """Where the admin sends who may not enter: a grower is told, a manager goes in."""
    return redirect("admin:index")


admin.site.login = login
admin.site.site_header = _("Strikebook: the back door")
admin.site.site_title = _("Strikebook")
admin.site.index_title = _("Tables")
# The role stands on the person: Django's groups of permissions would change nothing here.
admin.site.unregister(auth_admin.Group)


# People are changed on their own pages, which see to it that a manager is left. Sign-ins are
# listed there too and not here: the admin names each row by its key, and the key opens the session.
@admin.register(Person)
class PersonAdmin(ReadOnly):
    list_display = ["name", "initials", "username", "role", "is_active"]
    list_filter = ["role", "is_active"]
    search_fields = ["name", "username"]
    exclude = ["password", "pin"]

    def lookup_allowed(self, lookup: str, value: str, request: HttpRequest) -> bool:
        """Nobody is found by the hash of a password or a PIN, or by a key that opens a session:
        yes or no would give it away, letter by letter."""
        return lookup.split("__")[0] in self.list_display
