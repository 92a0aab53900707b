"""What a browser says of itself, in words by which a person knows their own phone or desk."""

from django.utils.translation import gettext as _

# Looked for in this order, since most browsers name several others as well.
BROWSERS = [
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox", "Firefox"),
    ("FxiOS", "Firefox"),
    ("CriOS", "Chrome"),
    ("Chrome", "Chrome"),
    ("Safari", "Safari"),
]
MACHINES = [
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("CrOS", "ChromeOS"),
    ("Macintosh", "Mac"),
    ("Linux", "Linux"),
]


def describe(user_agent: str) -> str:
    """A user agent as `Firefox, Android`, or its beginning if nothing in it is known."""
    known = [
        next(word for sign, word in signs if sign in user_agent)
        for signs in (BROWSERS, MACHINES)
        if any(sign in user_agent for sign, _word in signs)
    ]
    return ", ".join(known) or user_agent[:60] or _("unknown device")
