"""The hand-book names what there is; the vendored files are those that it names."""

import hashlib
import re
import tomllib
from pathlib import Path

import pytest
from django.urls import URLPattern, URLResolver, get_resolver

ROOT = Path(__file__).resolve().parents[2]
HANDBOOK = (ROOT / "DEVELOPERS.md").read_text()
README = (ROOT / "README.md").read_text()
COMMANDS = sorted(path.stem for path in (ROOT / "nursery/management/commands").glob("[!_]*.py"))


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_and_option_is_in_the_handbook(command):
    row = re.search(rf"`manage.py {command}\b.*", HANDBOOK)
    assert row, f"manage.py {command} is not in DEVELOPERS.md"
    source = (ROOT / f"nursery/management/commands/{command}.py").read_text()
    for option in re.findall(r'add_argument\(\s*"(--[a-z-]+)"', source):
        assert option in row[0], option


def test_every_variable_is_in_the_readme():
    sources = (ROOT / "nursery/settings.py", ROOT / "nursery/environment.py")
    read = set(re.findall(r'environ\.get\("(\w+)"', "".join(map(Path.read_text, sources))))
    assert read == {f"NURSERY_{what}" for what in ("ADDRESS", "DATA_DIR", "PROXY", "TIME_ZONE")}
    for name in [*read, "DATABASE_URL"]:
        assert f"`{name}`" in README


def addresses(patterns, head=""):
    for pattern in patterns:
        path = head + str(pattern.pattern)
        if isinstance(pattern, URLResolver) and not path.startswith("back-door"):
            yield from addresses(pattern.url_patterns, path)
        elif isinstance(pattern, URLPattern):
            yield path


def test_the_handbook_has_every_address_whole_and_no_other():
    found = {f"/{path}" for path in addresses(get_resolver().url_patterns)}
    of_tags = re.compile(r"/\^\[(\w)\w]/\(\?P<text>.*")
    found = {re.sub(r"<\w+:(\w+)>", r"<\1>", of_tags.sub(r"/\1/<text>", at)) for at in found}
    table = HANDBOOK.split("## Addresses")[1].split("`POST /sync/`")[0]
    assert len(found) > 90
    assert set(re.findall(r"`(/[^`]*)`", table)) == found | {"/back-door/"}


def test_the_readme_shows_two_commands_that_are_there():
    commands = re.findall(r"^    (\.ci/(?:demo|test))$", README, re.M)
    assert commands == [".ci/demo", ".ci/test"]
    for command in commands:
        assert (ROOT / command).stat().st_mode & 0o111


def test_only_the_rooms_stand_at_the_top():
    rooms = {"nursery", "lots", "labels", "templates", "static", "tests"}
    files = {"README.md", "DEVELOPERS.md", "LICENSE", "manage.py", "pyproject.toml", "uv.lock"}
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert there - {"data"} == rooms | files


def test_vendored_files_are_those_that_are_recorded():
    folder = ROOT / "static/vendor"
    recorded = {}
    for package in tomllib.loads((folder / "vendored.toml").read_text()).values():
        assert package["licence"]
        assert package["version"]
        recorded |= package["files"]
    present = {
        str(path.relative_to(folder))
        for path in folder.rglob("*")
        if path.is_file() and path.name not in ("LICENSE", "vendored.toml")
    }
    assert present == set(recorded)
    for name, checksum in recorded.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == checksum, name
