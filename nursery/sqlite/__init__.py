"""Django's SQLite backend, with a queue for who writes: see `base`, which Django loads by name."""

WAIT = 20  # seconds for another writer, of this process or another
# Said to each connection to the live book (see `nursery.upkeep.checkpoints`).
NEVER_BY_ITSELF = "PRAGMA wal_autocheckpoint=0"
