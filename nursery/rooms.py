"""The rooms of the site, as the top of each page lists them."""

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from nursery import clock

MAIN = [
    ("today", _("Today")),
    ("round", _("Round")),
    ("due", _("Due")),
    ("lots", _("Lots")),
    ("sessions", _("Sessions")),
]
MORE = [
    ("availability", _("Availability")),
    ("plan", _("Plan")),
    ("week", _("The week")),
    ("offer", _("What we can offer")),
    ("targets", _("Targets")),
    ("how-many", _("How many to stick")),
    ("forecasts", _("How good our forecasts were")),
    ("changes", _("What changed")),
    ("mine", _("I grew that")),
    ("varieties", _("Varieties")),
    ("stock", _("Stock plants")),
    ("methods", _("Methods")),
    ("trials", _("Side-by-side trials")),
    ("places", _("Places")),
    ("pot-sizes", _("Pot sizes")),
    ("groups", _("Crop groups")),
    ("handbook", _("Handbook")),
    ("words", _("Words")),
    ("jobs", _("How to …")),
    ("password", _("My password")),
    ("pin", _("My PIN")),
    ("change-person", _("Somebody else is here")),
]
FOR_MANAGERS = [
    ("people", _("People")),
    ("labels", _("Labels")),
    ("data", _("Data")),
    ("start", _("First steps")),
    ("about", _("About this book")),
]


def rooms(request: HttpRequest) -> dict[str, object]:
    """Template context: the rooms this person may enter, and which of them this page is in; and
    for a manager what is to be settled of the book's time zone."""
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return {}

    def listed(names):
        for name, label in names:
            url = reverse(name)
            here = request.path == url or (url != "/" and request.path.startswith(url))
            yield {"url": url, "label": label, "here": here}

    more = MORE + (FOR_MANAGERS if user.is_manager else [])
    return {
        "rooms": {"main": list(listed(MAIN)), "more": list(listed(more))},
        "zone_difference": clock.difference() if user.is_manager else "",
    }
