"""What is wrong with a file: where, and what would be right."""

from dataclasses import dataclass, field

from django.utils.translation import gettext as _

MOST_KEPT = 1000


@dataclass(frozen=True, slots=True)
class Fault:
    """`row` counts as a spreadsheet does, the header being row 1; None is the whole file."""

    file: str
    row: int | None
    column: str | None
    says: str

    def __str__(self) -> str:
        where = self.file
        if self.row is not None:
            where += _(", row %(row)s") % {"row": self.row}
        if self.column is not None:
            where += _(", column %(column)s") % {"column": self.column}
        return f"{where}: {self.says}"


@dataclass(slots=True)
class Faults:
    """All faults are counted; the first thousand are kept. `unread` are the tables of whose files
    some rows could not be read at all, so that what they hold isn't known."""

    count: int = 0
    kept: list[Fault] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)

    def add(self, file: str, row: int | None, column: str | None, says: object) -> None:
        self.count += 1
        if len(self.kept) < MOST_KEPT:
            self.kept.append(Fault(file, row, column, str(says)))

    def __bool__(self) -> bool:
        return self.count > 0
