"""Bringing back every record from a backup: all of it, or nothing."""

from collections.abc import Callable, Mapping
from pathlib import Path

from django.contrib.contenttypes.models import ContentType
from django.db import DEFAULT_DB_ALIAS, Error, transaction

from progress.usecases.backups.fill import empty, fill, finish, lock
from progress.usecases.backups.fits import misfits, rows_in_the_way, some
from progress.usecases.backups.manifest import Manifest
from progress.usecases.backups.reading import CHANGED, Backup, opened
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.tables import Table, tables

# Asked once everything is checked, with the rows that would be deleted, by table.
Agreement = Callable[[Manifest, Mapping[str, int]], bool]


class NotAgreed(Exception):
    """Somebody was asked whether to go on and did not say yes; nothing was changed."""


def restore_backup(
    *,
    file: Path,
    replace: bool = False,
    agreed: Agreement = lambda manifest, deleted: True,
    using: str = DEFAULT_DB_ALIAS,
) -> Manifest:
    """Put the rows of a backup in the place of all rows of the database, in one transaction.

    The database is one that `migrate` has just made, or any other where ``replace`` is set. All
    sessions end. Raises OSError where the file cannot be read, BackupRefused with every problem
    that was found, and NotAgreed; then the database is as before.
    """
    with opened(file) as backup:
        held = tables()
        deleted = look_over(backup, held, replace, using)
        if not agreed(backup.manifest, deleted):
            raise NotAgreed
        try:
            with transaction.atomic(using=using):
                take_in(backup, held, replace, using)
        except Error as error:
            raise BackupRefused(
                [
                    f"The database cannot be written: {error}. Stop the site, see that the disk has"
                    " room, and restore again."
                ]
            ) from error
        finally:
            ContentType.objects.clear_cache()
        return backup.manifest


def look_over(backup: Backup, held: list[Table], replace: bool, using: str) -> dict[str, int]:
    """Find everything that speaks against a restore; else give what it would delete."""
    problems = backup.problems() + misfits(backup.manifest, held, using)
    deleted = rows_in_the_way(held, using)
    if deleted and not replace:
        problems.append(
            f"The database is not empty: {some(deleted)} hold rows. Restore into a database that"
            " `manage.py migrate` has just made, or add --replace to delete what is there."
        )
    if problems:
        raise BackupRefused(problems)
    return deleted


def take_in(backup: Backup, held: list[Table], replace: bool, using: str) -> None:
    """Empty and fill all tables, with everybody else kept out."""
    lock(held, using)
    if not replace and rows_in_the_way(held, using):
        raise BackupRefused(
            ["Somebody wrote into the database meanwhile. Stop the site and restore again."]
        )
    empty(held, using)
    told = {table.name: table for table in backup.manifest.tables}
    for table in held:
        rows = fill(table, backup.lines(told[table.name]), using)
        if rows != told[table.name].rows:
            raise BackupRefused([CHANGED])
    finish(held, using)
