"""What is kept as JSON carries the number of its format, and what an older version kept is read by
bringing it forward, one format at a time. What has no number is of the first."""

from collections.abc import Callable, Sequence
from typing import Any

type Step = Callable[[Any], Any]


class Newer(ValueError):
    """What is kept was written by a newer version of the program."""


def bring_forward(data: Any, steps: Sequence[Step]) -> Any:
    """The data in today's format, `len(steps) + 1`: each step makes the next format of the one
    before. Raises Newer for a format that only a newer version of the program knows."""
    found = data.get("format", 1) if isinstance(data, dict) else 1
    if not 1 <= found <= len(steps) + 1:
        raise Newer(f"Format {found} is not known here; the newest is {len(steps) + 1}.")
    for step in steps[found - 1 :]:
        data = step(data)
    return data
