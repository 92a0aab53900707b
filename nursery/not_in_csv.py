"""What of the book no CSV file holds, by name: everything else goes out and comes in.

A test holds this list against all fields of all tables, and what DEVELOPERS.md says against this
list. A backup holds all of it but the sign-ins.
"""

from django.utils.translation import gettext_lazy as _

WORKED_OUT = [
    f"lots.Lot.{field}"
    for field in (
        *("stage", "place", "pots_place", "pot_size", "cells", "cells_lost", "units_potted"),
        *(
            "pots_*",
            "potted_on",
            "struck_after",
            "struck_on",
            "finished_after",
            "finished_on",
            "seen_on",
        ),
        *("tested_on", "tested", "held", "look_on", "late_after", "seldom_after", "heavy_losses"),
    )
]
# In words, and as patterns of app, model and field.
NOT_IN_CSV = [
    (_("photos"), ["lots.Photo.*", "lots.Variety.face"]),
    (
        _("passwords and PINs, and who still works here"),
        ["*.Person.password", "*.Person.must_change_password", "*.Person.pin", "*.is_active"],
    ),
    (
        _("sign-ins, and sign-ins that failed"),
        ["*.SignIn.*", "*.KnownDevice.*", "*.WrongPasswords.*", "*.Person.last_login"],
    ),
    (_("forecasts as they stood at sticking"), ["lots.Forecast.*"]),
    (_("which records were written in one action"), ["lots.*.action"]),
    (_("who confirmed a sticking in the book"), ["lots.Lot.confirmed_by"]),
    (_("the histories of what was changed"), ["*.Historical*.*", "admin.LogEntry.*"]),
    (_("what was printed"), ["labels.Printing.*", "labels.PrintedTag.*"]),
    (_("the book's time zone"), ["nursery.BookSettings.*"]),
    (_("how sure targets are to be met where they don't say"), ["lots.PlanSettings.*"]),
    (_("which weeks of the plan are pinned and barred"), ["lots.Wish.*"]),
    (_("the mark of a demo book"), ["nursery.DemoBook.*"]),
    (
        _("what is worked out anew from the records"),
        ["lots.ToCome.*", "lots.Fit.*", "lots.Plan.*", *WORKED_OUT],
    ),
    (_("row numbers and line numbers: the order of rows stands for them"), ["*.id", "*.Lot.line"]),
    (_("Django's own tables"), ["auth.*", "contenttypes.*"]),
]
