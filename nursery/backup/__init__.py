"""Backups of the whole book, photos included, and the way back.

`archive` is the file itself, `database` what SQLite and PostgreSQL each need, `making` writes
backups and keeps the newest of them, `restoring` puts one back.
"""

from nursery.backup.archive import Backup, BackupFault
from nursery.backup.making import backup, backup_if_due, backups, last_backup, start_daily
from nursery.backup.restoring import restore

__all__ = [
    "Backup",
    "BackupFault",
    "backup",
    "backup_if_due",
    "backups",
    "last_backup",
    "restore",
    "start_daily",
]
