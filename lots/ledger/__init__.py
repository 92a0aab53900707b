"""The only code that changes what a lot counts.

`verbs` are what people do, one transaction each; `load` and `add` write whole books; `recount`
adds a whole book up anew; `refusals`
holds the sentences of what the book can't take; `standing` sets the counts. Records sent twice
(the same `uuid`) are stored once.
"""

from lots.ledger.corrections import correct
from lots.ledger.load import add, load
from lots.ledger.recount import Recounted, recount
from lots.ledger.refusals import Refused, check_may_be_stuck
from lots.ledger.verbs import (
    moment_of,
    new_code,
    not_stuck,
    plan,
    record,
    record_together,
    replan,
    stick,
    void,
    void_action,
    written_with,
)

__all__ = [
    "Recounted",
    "Refused",
    "add",
    "check_may_be_stuck",
    "correct",
    "load",
    "moment_of",
    "new_code",
    "not_stuck",
    "plan",
    "record",
    "record_together",
    "recount",
    "replan",
    "stick",
    "void",
    "void_action",
    "written_with",
]
