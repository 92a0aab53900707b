"""What Django's forms say of a slip, in this book's words: what is wrong, and what would be right.

A sentence stands at its field, which says where. Fields and validators take their words from their
classes when they are made, so these are changed there, once, before any form is made; a form or a
field can still have words of its own.
"""

from django import forms
from django.contrib.auth import password_validation
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core import validators
from django.db import models
from django.utils.translation import gettext, ngettext, ngettext_lazy
from django.utils.translation import gettext_lazy as _

NO_NUMBER = _("This is no number; type one in digits, like 9.5.")
NOT_OFFERED = _("“%(value)s” can't be chosen here; choose one of those that are offered.")
NOT_THERE = _("What was chosen isn't there any more; choose another.")
LOAD_AGAIN = _("The page came without its own number; load it again and type everything anew.")

FIELDS: dict[type, dict[str, object]] = {
    forms.Field: {"required": _("This is required: fill it in.")},
    forms.IntegerField: {"invalid": _("This is no whole number; type one in digits, like 48.")},
    forms.FloatField: {"invalid": NO_NUMBER},
    forms.DecimalField: {"invalid": NO_NUMBER},
    forms.DateField: {"invalid": _("This is no day; write one as YYYY-MM-DD, like 2026-03-02.")},
    forms.DateTimeField: {"invalid": _("This is no moment; write one like 2026-03-02 14:30.")},
    forms.UUIDField: {"required": LOAD_AGAIN, "invalid": LOAD_AGAIN},
    forms.ChoiceField: {
        "required": _("This is required: choose one."),
        "invalid_choice": NOT_OFFERED,
    },
    forms.ModelChoiceField: {"invalid_choice": NOT_THERE},
    forms.ModelMultipleChoiceField: {
        "invalid_list": NOT_THERE,
        "invalid_choice": NOT_THERE,
        "invalid_pk_value": NOT_THERE,
    },
    forms.FileField: {
        "required": _("This is required: choose a file."),
        "invalid": _("No file came with the page; choose it again."),
        "missing": _("No file came with the page; choose it again."),
        "empty": _("There is nothing in this file; choose another."),
        "max_length": ngettext_lazy(
            "The name of the file has %(length)d characters, and %(max)d is the most; shorten it.",
            "The name of the file has %(length)d characters, and %(max)d are the most; shorten it.",
            "max",
        ),
    },
    models.Field: {
        "null": _("This is required: fill it in."),
        "blank": _("This is required: fill it in."),
        "invalid_choice": NOT_OFFERED,
        "unique": _("This is in the book already; choose another."),
    },
}
VALIDATORS: dict[type, object] = {
    validators.MinValueValidator: _("%(show_value)s is too little; %(limit_value)s is the least."),
    validators.MaxValueValidator: _("%(show_value)s is too much; %(limit_value)s is the most."),
    validators.MaxLengthValidator: ngettext_lazy(
        "These are %(show_value)d characters, and %(limit_value)d is the most; shorten it.",
        "These are %(show_value)d characters, and %(limit_value)d are the most; shorten it.",
        "limit_value",
    ),
    validators.ProhibitNullCharactersValidator: _(
        "There is a character in it that no book can hold (NUL); take it out."
    ),
    UnicodeUsernameValidator: _("A sign-in name has only letters, digits and @ . + - _ in it."),
}
DECIMALS: dict[str, object] = {
    "invalid": NO_NUMBER,
    "max_digits": ngettext_lazy(
        "This number is too long; %(max)s digit is the most.",
        "This number is too long; %(max)s digits are the most.",
        "max",
    ),
    "max_decimal_places": ngettext_lazy(
        "This is too exact; %(max)s digit after the point is the most.",
        "This is too exact; %(max)s digits after the point are the most.",
        "max",
    ),
    "max_whole_digits": ngettext_lazy(
        "This number is too large; %(max)s digit before the point is the most.",
        "This number is too large; %(max)s digits before the point are the most.",
        "max",
    ),
}


def put_in_place() -> None:
    """Give Django's fields and validators these words."""
    for field, words in FIELDS.items():
        field.default_error_messages = field.default_error_messages | words
    for validator, sentence in VALIDATORS.items():
        validator.message = sentence
    validators.DecimalValidator.messages = DECIMALS


class LongEnough(password_validation.MinimumLengthValidator):
    def get_error_message(self) -> str:
        return ngettext(
            "This password is too short; make it %(n)s character or longer.",
            "This password is too short; make it %(n)s characters or longer.",
            self.min_length,
        ) % {"n": self.min_length}


class NotCommon(password_validation.CommonPasswordValidator):
    def get_error_message(self) -> str:
        return gettext(
            "This password is one of the common ones, which are tried first; think up another."
        )
