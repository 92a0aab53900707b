"""What needs doing once for a book, however many processes serve it: `turn` tells which does it,
`checkpoints` brings SQLite's journal into the book's file, `soundness` looks whether the file is
damaged."""

from nursery.upkeep.turn import keep_up, served_once

__all__ = ["keep_up", "served_once"]
