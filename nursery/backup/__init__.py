"""Backups of the whole book, photos included, and the way back.

`archive` is the file itself, `store` the photos of all daily ones, `contents` what is in a
database, `sqlite` and `postgresql` what each of them needs; `making` writes backups, `keeping`
tells which stay, `restoring` puts one back.
"""

from nursery.backup.archive import Backup, BackupFault
from nursery.backup.keeping import backups, last_backup, photo_sizes
from nursery.backup.making import backup, backup_if_due, daily
from nursery.backup.restoring import restore

__all__ = [
    "Backup",
    "BackupFault",
    "backup",
    "backup_if_due",
    "backups",
    "daily",
    "last_backup",
    "photo_sizes",
    "restore",
]
