"""A slip in any form of ours is told in this book's own words, and never in Django's."""

import gettext
import importlib
import json
import pkgutil
import re
from pathlib import Path

import django
import pytest
from django import forms
from django.contrib import auth
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import models

import labels
import lots
import nursery
from nursery.forms import OwnPasswordForm
from tests import factories
from tests.factories import PASSWORD

ROOMS = ("labels", "lots", "nursery")
for room in (labels, lots, nursery):
    for module in pkgutil.walk_packages(room.__path__, f"{room.__name__}."):
        if ".forms" in module.name or ".views" in module.name:
            importlib.import_module(module.name)


def kinds(of: type) -> set[type]:
    return {of}.union(*(kinds(kind) for kind in of.__subclasses__()))


FORMS = sorted(
    (form for form in kinds(forms.BaseForm) if form.__module__.split(".")[0] in ROOMS),
    key=lambda form: (form.__module__, form.__name__),
)
WRONG = ["", None, "many", "a\0b", "-1", "-1e9", "1e400", "0.12345", "9" * 30, "x" * 5000, "31/31"]
FILES = [None, SimpleUploadedFile("leaf.csv", b""), "no file"]


def wrong_for(field: forms.Field) -> list:
    match field:
        case forms.FileField():
            return FILES
        case forms.ModelMultipleChoiceField():
            return [None, "no list", ["many"], [10**6]]
    return WRONG


def in_djangos_words() -> re.Pattern:
    """Anything that Django says in a sentence, whatever it puts in."""
    said = set()
    for home in (Path(django.__file__).parent / "conf", Path(auth.__file__).parent):
        source = (home / "locale/en/LC_MESSAGES/django.po").read_text()
        for text in re.findall(r'^msgid(?:_plural)? ((?:".*"\n)+)', source, re.M):
            said.add("".join(re.findall(r'"(.*)"\n', text)).replace('\\"', '"'))
    sentences = [one for one in said if one.endswith(".") and len(re.findall(r"\w+", one)) > 2]
    assert "This field is required." in sentences
    patterns = (re.sub(r"%(?:\\\(\w+\\\))?[sd]", ".*", re.escape(one)) for one in sentences)
    return re.compile("|".join(patterns))


DJANGOS = in_djangos_words()


def told(check, *values) -> set[str]:
    """The sentences that a check has for the values."""
    found = set()
    for value in values:
        try:
            check(value)
        except ValidationError as fault:
            found.update(fault.messages)
    return found


@pytest.mark.django_db
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.__name__)
def test_every_field_tells_a_slip_in_our_words(form):
    said = set()
    for name, field in form.base_fields.items():
        said |= told(field.clean, *wrong_for(field))
        if issubclass(form, forms.BaseModelForm) and name in form._meta.fields:
            column = form._meta.model._meta.get_field(name)
            if isinstance(column, models.IntegerField | models.FloatField):
                said |= told(column.run_validators, -1, 10**30)
            elif isinstance(column, models.CharField):
                said |= told(column.run_validators, "x" * 5000)
            said |= {str(column.error_messages[key]) for key in ("unique", "blank", "null")}
    assert [sentence for sentence in said if DJANGOS.fullmatch(sentence)] == []
    assert all(sentence.endswith(".") for sentence in said)


def test_the_forms_are_found():
    assert len(FORMS) > 30
    assert OwnPasswordForm in FORMS


@pytest.mark.django_db
@pytest.mark.parametrize("password", ["short", "password1", "willow99", "strikebook1", ""])
def test_a_password_that_is_refused_is_told_in_our_words(password):
    somebody = factories.person(username="willow9", name="Willow Wren")

    def faults(new: str) -> dict:
        given = {"old_password": PASSWORD, "new_password1": new, "new_password2": new}
        return OwnPasswordForm(somebody, given).errors

    says = [sentence for of in faults(password).values() for sentence in of]
    assert says
    assert not any(DJANGOS.fullmatch(sentence) for sentence in says)
    assert not faults("moss-and-bark")


def test_the_catalogue_that_is_read_is_the_one_that_is_written():
    """Else a sentence changed in the .po stays as it was, until somebody runs msgfmt."""
    folder = Path(nursery.__file__).parent / "locale/en/LC_MESSAGES"
    with (folder / "django.mo").open("rb") as file:
        read = gettext.GNUTranslations(file)._catalog
    entry = re.compile(r'msgid (".*")\n(?:msgid_plural ".*"\n)?((?:msgstr.*\n?)+)')
    written = {}
    for said, answers in entry.findall((folder / "django.po").read_text(encoding="utf-8")):
        for form, answer in re.findall(r'msgstr(?:\[(\d)\])? (".*")', answers):
            said_of = json.loads(said)
            written[(said_of, int(form)) if form else said_of] = json.loads(answer)
    assert {key: read[key] for key in written if key} == {k: v for k, v in written.items() if k}
    assert len(read) == len(written)
