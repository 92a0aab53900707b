"""Rows that people know by a name or code, in whatever capitals they type it.

The database holds names apart that differ in capitals only, as far as it knows capitals: SQLite
knows those of ASCII, PostgreSQL those of its locale. The forms know them all, and the audit tells
what came past both.
"""

from collections.abc import Iterable
from typing import ClassVar, Self

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy


def alike_in_no_capitals(table: str, field: str = "name") -> models.UniqueConstraint:
    """The constraint of a table of which no two rows are known by the same name in other
    capitals."""
    return models.UniqueConstraint(
        Lower(field),
        name=f"{table}_{field}_in_any_capitals",
        violation_error_message=gettext_lazy(
            "Another one has this name already, perhaps in other capitals; choose another."
        ),
    )


class Known(models.Model):
    """A row known by the text in the field KNOWN_BY."""

    KNOWN_BY: ClassVar[str] = "name"

    class Meta:
        abstract = True

    @classmethod
    def known_as(cls, text: str, but: int | None = None) -> Self | None:
        """The row of this name in whatever capitals, other than the one with the key `but`."""
        found = cls._default_manager.exclude(pk=but)
        same = found.filter(**{cls.KNOWN_BY: text}).first()
        if same or text.isascii():
            return same or found.filter(**{f"{cls.KNOWN_BY}__iexact": text}).first()
        folded = text.casefold()
        for key, name in found.values_list("pk", cls.KNOWN_BY):
            if name.casefold() == folded:
                return cls._default_manager.get(pk=key)
        return None

    @classmethod
    def get_or_make(cls, text: str) -> Self:
        """The row of this name in whatever capitals; a new one if there is none."""
        return cls.known_as(text) or cls._default_manager.get_or_create(**{cls.KNOWN_BY: text})[0]

    def validate_unique(self, exclude: Iterable[str] | None = None) -> None:
        """Every form asks this: of the pages and of the back door."""
        if self.KNOWN_BY not in (exclude or ()):
            typed = getattr(self, self.KNOWN_BY)
            twin = self.known_as(typed, but=self.pk) if typed else None
            if twin:
                raise ValidationError({self.KNOWN_BY: self._taken(typed, twin)})
        super().validate_unique(exclude)

    def _taken(self, typed: str, twin: Self) -> str:
        stands = getattr(twin, self.KNOWN_BY)
        if stands == typed:
            return _("“%(typed)s” is in the book already; choose another.") % {"typed": typed}
        return _("“%(typed)s” is in the book already, as “%(stands)s”; choose another.") % {
            "typed": typed,
            "stands": stands,
        }
