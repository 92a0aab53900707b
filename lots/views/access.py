"""Who may do what. Everybody signed in may read and log; planning, printing, catalogues,
people and other people's records are a manager's."""

from collections.abc import Callable
from functools import wraps

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

type View = Callable[..., HttpResponse]


def manager_only(view: View) -> View:
    """The view for managers; a grower is told that a manager can do this."""

    @wraps(view)
    def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
        if request.user.by_pin:
            raise PermissionDenied(
                _("You came in by PIN, which is for logging. This takes the password: sign in.")
            )
        if not request.user.is_manager:
            raise PermissionDenied(_("Only a manager can do this."))
        return view(request, *args, **kwargs)

    return guarded
