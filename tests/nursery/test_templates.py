"""Templates that people can read."""

from pathlib import Path

TEMPLATES = Path(__file__).parents[2] / "templates"
# A tag of Django's or of HTML can't be broken everywhere.
MOST, LONGEST_ALLOWED = 140, 200


def lines() -> list[tuple[str, str]]:
    return [
        (str(path.relative_to(TEMPLATES)), line)
        for path in TEMPLATES.rglob("*.html")
        for line in path.read_text(encoding="utf-8").splitlines()
    ]


def test_lines_are_short_enough_to_read():
    assert [(path, len(line)) for path, line in lines() if len(line) > LONGEST_ALLOWED] == []
    assert sum(len(line) > MOST for _, line in lines()) <= 40


def test_every_template_is_used():
    """Named by another, by a view or by a form."""
    root = TEMPLATES.parent
    code = [path for room in ("lots", "labels", "nursery") for path in (root / room).rglob("*.py")]
    said = "".join(path.read_text(encoding="utf-8") for path in [*code, *TEMPLATES.rglob("*.html")])
    by_django = {"400.html", "403.html", "404.html", "500.html", "503.html"}
    kinds = ("ledger/entry/", "ledger/record/", "django/forms/")  # named by their kind
    unused = {
        name
        for path in TEMPLATES.rglob("*.html")
        if f'"{(name := str(path.relative_to(TEMPLATES)))}"' not in said
        and name not in by_django
        and not name.startswith(kinds)
    }
    assert unused == set()
