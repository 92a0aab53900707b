"""Django's SQLite backend, with a queue for who writes: see `base`, which Django loads by name."""
