"""The site with one kind of record more."""

from pathlib import Path

from tests.settings import *  # noqa: F403

INSTALLED_APPS = [*INSTALLED_APPS, "tests.feeding"]  # noqa: F405
TEMPLATES[0]["DIRS"].append(Path(__file__).with_name("templates"))  # noqa: F405
