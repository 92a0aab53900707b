"""What is imported is declared, what is declared is imported, and the hand-book says what for."""

import ast
import re
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).parents[2]
OWN = {"lots", "labels", "nursery", "tests", *sys.stdlib_module_names}
# Nothing imports these: they are named in settings, or are tools and plug-ins.
NAMED = {"whitenoise", "defusedxml", "cssselect", "scipy-stubs"}
NAMED |= {"djlint", "mypy", "import-linter", "ruff"}
NAMED |= {"pytest-django", "pytest-randomly", "pytest-xdist"}


@cache
def declared() -> tuple[set[str], set[str]]:
    """Packages of the program, and those of its tests and checks."""
    told = tomllib.loads((ROOT / "pyproject.toml").read_text())
    of = told["project"]["dependencies"], told["dependency-groups"]["dev"]
    names = [{re.match(r"[\w.-]+", each)[0].lower() for each in part} for part in of]
    return names[0], names[1]


@cache
def imported(room: str) -> dict[str, str]:
    """Modules of others that a room imports, each with a file that does."""
    found = {}
    for path in (ROOT / room).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [name.name for name in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            found |= {name.split(".")[0]: path.name for name in names}
    return {name: path for name, path in found.items() if name not in OWN}


@cache
def installed() -> dict[str, list[str]]:
    return packages_distributions()


def homes(module: str) -> set[str]:
    return {name.lower() for name in installed().get(module, ["of no package"])}


def test_what_is_imported_is_declared():
    program, checks = declared()
    for room in ("lots", "labels", "nursery", "tests"):
        may = program | checks if room == "tests" else program
        strangers = {name: at for name, at in imported(room).items() if not homes(name) & may}
        assert strangers == {}


def test_what_is_declared_is_used():
    program, checks = declared()
    rooms = [imported(room) for room in ("lots", "labels", "nursery", "tests")]
    used = set().union(*(homes(name) for names in rooms for name in names))
    assert (program | checks) - used == NAMED


def test_the_hand_book_says_what_each_is_for_and_which_is_locked():
    lines = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").splitlines()
    cells = [re.split(r"\s*\|\s*", line)[1:6] for line in lines if line.startswith("| `")]
    table = {row[0].strip("`"): row for row in cells if len(row) == 5 and row[2][:1].isdigit()}
    program, checks = declared()
    assert set(table) == program | checks
    locked = tomllib.loads((ROOT / "uv.lock").read_text())["package"]
    versions = {package["name"]: package["version"] for package in locked}
    assert {name: row[2] for name, row in table.items()} == {n: versions[n] for n in table}
    assert all(row[1] and re.fullmatch(r"20\d\d-\d\d-\d\d", row[3]) for row in table.values())
