"""The hand-book: a page a job, step by step. What stands between two stars is written so on the
page that the step is about; a browser test goes there and looks, and takes the pictures
(`python -m tests.browser.pictures`)."""

from typing import NamedTuple

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


class Step(NamedTuple):
    """`at` is the page it is about; one of a `{lot}`, or of what is `{planned}`, is any such."""

    says: str | Promise
    at: str


class Job(NamedTuple):
    """`pictured` is the page whose picture stands beside the steps; `manager` where only they may
    do it."""

    title: str | Promise
    says: str | Promise
    steps: list[Step]
    pictured: str
    manager: bool = False


JOBS = {
    "first-hour": Job(
        _("Begin a book"),
        _("From nothing to the first tag, in five forms."),
        [
            Step(_("Open *First steps*: it leads from one to the next."), "/start/"),
            Step(
                _("Take crop groups, methods and pot sizes from the starter catalogue."),
                "/start/catalogue/",
            ),
            Step(_("Make the places of a bench in one go."), "/places/range/"),
            Step(
                _(
                    "Paste your varieties from a spreadsheet into *Lines* and tap *Look at it "
                    "first*: nothing is written before you have seen it."
                ),
                "/varieties/paste/",
            ),
            Step(
                _("Enter what stands already, a line a lot, by *Enter it*."),
                "/lots/enter/",
            ),
        ],
        "/start/",
        manager=True,
    ),
    "plan-a-session": Job(
        _("Plan a session"),
        _("A session is one sitting: its lots, their tags and the work sheet."),
        [
            Step(_("Tap *New session*, say the day, and save."), "/sessions/"),
            Step(
                _("Under *Add a line* say variety, method and units; *Add*. A line is a lot."),
                "/sessions/{session}/",
            ),
            Step(_("Print the work sheet, and the tags."), "/sessions/{session}/"),
            Step(
                _("Choose the label stock and what kind of tag; *Make the PDF*."),
                "/sessions/{session}/tags/",
            ),
        ],
        "/sessions/{session}/",
        manager=True,
    ),
    "stick": Job(
        _("Stick"),
        _("What was planned becomes a lot once you say what was really stuck."),
        [
            Step(_("Follow the work sheet from top to bottom: tools are disinfected between."), ""),
            Step(
                _(
                    "When a flat is stuck, scan its tag and tap *Confirm sticking*: units, flat "
                    "and place stand there as planned."
                ),
                "/lots/{planned}/",
            ),
            Step(
                _("Was it fewer? Type what was really stuck, then *Save*."),
                "/lots/{planned}/stick/",
            ),
            Step(
                _("Not done at all: *Not stuck at all*. The tag goes into the bin."),
                "/lots/{planned}/stick/",
            ),
        ],
        "/lots/{planned}/stick/",
    ),
    "check-a-bench": Job(
        _("Check a bench"),
        _("A row a lot, two numbers a row, and nobody turns a page."),
        [
            Step(
                _(
                    "Scan the tag of the bench or the flat; or open the round and take all of it "
                    "at once."
                ),
                "",
            ),
            Step(
                _(
                    "Tug gently at some. Type under *Held* how many did, and *of* how many you "
                    "tugged at."
                ),
                "/bench/check/?bench=1",
            ),
            Step(
                _("All as it was: one tap on *None yet* or “No change”."), "/bench/check/?bench=1"
            ),
            Step(
                _("Open *Losses, photo* for what rotted or dried out, by its reason."),
                "/bench/check/?bench=1",
            ),
            Step(
                _("*Save* a row as you go, or *Save all that is typed* at the end."),
                "/bench/check/?bench=1",
            ),
        ],
        "/bench/check/?bench=1",
    ),
    "lost": Job(
        _("Write off what was lost"),
        _("The reason is what makes it worth writing down."),
        [
            Step(_("Scan the tag and tap *Loss*."), "/lots/{lot}/"),
            Step(
                _("Type how many at the reason: *rot*, *dried out*, *blind*, *pest* …"),
                "/lots/{lot}/loss/",
            ),
            Step(
                _("A photo or a note helps who asks why: *Photo, note, another time*."),
                "/lots/{lot}/loss/",
            ),
        ],
        "/lots/{lot}/loss/",
    ),
    "pot-up": Job(
        _("Pot up, finish, send out"),
        _("Units leave their cells for pots; pots finish; pots go out."),
        [
            Step(
                _(
                    "On the bench’s page tap *Pot up*; the pot size and the place stand once, at "
                    "the top."
                ),
                "/bench/pot-up/?bench=1",
            ),
            Step(
                _("Type *Units* and, where they differ, *Pots*; or tap “All”."),
                "/bench/pot-up/?bench=1",
            ),
            Step(_("When pots are fit to be sold, *Finish* them there."), "/bench/finish/?bench=1"),
            Step(
                _("Sold, given away, kept for stock or culled: *Pots go out*."),
                "/bench/leave/?bench=1",
            ),
        ],
        "/bench/pot-up/?bench=1",
    ),
    "put-right": Job(
        _("Put right a mistake"),
        _("Nothing is rubbed out: what was wrong is struck through, and who looks sees why."),
        [
            Step(_("Just saved it? “Undo” stands in the message."), ""),
            Step(
                _("Later: under *What was done* tap the record, then void it and say why."),
                "/lots/{lot}/",
            ),
            Step(
                _("Wrong variety, method or plants: *Correct variety, method, session or plants*."),
                "/lots/{lot}/",
            ),
            Step(_("Wrong number stuck: *Correct what was stuck*."), "/lots/{lot}/"),
        ],
        "/lots/{lot}/",
    ),
    "find": Job(
        _("Find a lot"),
        _("By the tag, by its name, or by where it stands."),
        [
            Step(
                _(
                    "Type into the box at the top: a code, part of a name, a flat, a bench, a "
                    "person."
                ),
                "",
            ),
            Step(
                _(
                    "In the list of lots, *Filter and sort*: what is late, to pot up, of one "
                    "bench or one person."
                ),
                "/lots/",
            ),
            Step(_("Tick some and act on *All that are ticked, at once*."), "/lots/"),
            Step(
                _("The list as it stands goes out *As CSV*, or *On one page, to print*."), "/lots/"
            ),
        ],
        "/lots/",
    ),
    "plan": Job(
        _("Plan what to stick"),
        _("From what is wanted to sessions, within benches, hands and plants."),
        [
            Step(_("Say what is wanted: *New target*, or *Paste a list*."), "/targets/"),
            Step(
                _("Say how many flats and hours there are, and which weeks are barred."), "/limits/"
            ),
            Step(
                _(
                    "The plan says what to stick, in which week, from which plants. *Work it out "
                    "again* when you like."
                ),
                "/plan/",
            ),
            Step(
                _("Tick lines, say on which day, and *Make a session of what is ticked*."), "/plan/"
            ),
            Step(_("What can’t be met stands first, with what would lift it."), "/plan/"),
        ],
        "/plan/",
        manager=True,
    ),
    "how-many": Job(
        _("Ask how many to stick"),
        _("Dividing what is wanted by what usually takes falls short about every second time."),
        [
            Step(
                _("Say variety, method, *Pots wanted* and *Finished by*; *Work it out*."),
                "/how-many/",
            ),
            Step(
                _("*How sure* is up to you: 90 in 100 costs more cuttings than 80."), "/how-many/"
            ),
        ],
        "/how-many/",
        manager=True,
    ),
    "what-works": Job(
        _("See what works here"),
        _("Methods compared on your own lots, with season and variety allowed for."),
        [
            Step(_("Choose a crop group or a variety, and *Compare*."), "/methods/compare/"),
            Step(
                _("Not sure yet? Two ways side by side in the same flats: *Side-by-side trials*."),
                "/methods/compare/",
            ),
        ],
        "/methods/compare/",
    ),
    "keep-it-safe": Job(
        _("Keep the book safe"),
        _("A backup is made every day. Copy it to another machine now and then."),
        [
            Step(_("*Back up now*, before something large."), "/data/"),
            Step(_("Take everything out as CSV: *Download the CSV files*."), "/data/"),
            Step(_("Bring data in; *Check the files* writes nothing."), "/data/"),
        ],
        "/data/",
        manager=True,
    ),
}


def parts_of(says: str | Promise) -> list[tuple[str, bool]]:
    """A step's sentence in parts, each with whether it is written so on the page."""
    parts = str(says).split("*")
    return [(part, number % 2 == 1) for number, part in enumerate(parts) if part]
