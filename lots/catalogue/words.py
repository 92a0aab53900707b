"""What the book's own words mean, in a grower's; shown where they stand, and all on one page."""

from django.utils.translation import gettext_lazy as _

WORDS = {
    "lot": (
        _("lot"),
        _("Cuttings of one variety, cut in one way, stuck on one day, under one tag."),
    ),
    "unit": (
        _("unit"),
        _(
            "What goes into one cell, or into one pot where you stick straight into pots. It is "
            "counted as one, however many pieces it is made of."
        ),
    ),
    "pieces": (
        _("pieces a unit"),
        _("How many pieces of leaf or stem you put into one cell together. Mostly 1."),
    ),
    "least-struck": (
        _("least struck for a full pot"),
        _(
            "With 3 pieces in a pot and 2 here, a pot is good enough to sell as soon as 2 of its 3 "
            "have struck."
        ),
    ),
    "take": (_("take"), _("How many of 100 units stuck strike and live until they are potted up.")),
    "strike": (
        _("strike"),
        _(
            "To root: it holds when you tug. A lot has struck once half or more of what lives of "
            "it holds."
        ),
    ),
    "band": (
        _("band"),
        _(
            "From one day to another, or from one number to another: 8 times in 10 it comes out "
            "between the two, 1 time in 10 sooner or less, 1 time in 10 later or more."
        ),
    ),
    "handbook": (
        _("handbook"),
        _(
            "What the trade expects of a kind of plant and a way of cutting. The book goes by it "
            "until your own lots say otherwise, and less and less from then on."
        ),
    ),
    "from-memory": (
        _("from memory"),
        _(
            "A figure that nobody has looked up in print: take it as a hint, and trust your own "
            "lots as soon as there are some."
        ),
    ),
    "flat-week": (
        _("flat-week"),
        _("One flat that stands on the bench for one week. A lot of 2 flats takes 12 in 6 weeks."),
    ),
    "watch": (
        _("on watch"),
        _("A stock plant that may be ailing: cut last, with tools disinfected before and after."),
    ),
    "void": (
        _("void"),
        _(
            "Taken back, with a reason. It stays in the history, struck through, and counts no "
            "more."
        ),
    ),
}
