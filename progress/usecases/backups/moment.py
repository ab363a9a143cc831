"""Reading every table as it stood at one moment, while people go on writing."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.db import connections, transaction

from progress.usecases.backups.refused import BackupRefused

COPY = "backup_copy"
NAP = 0.25  # seconds between two looks at a database that is locked
MOST_NAPS = 240  # a minute
READ_ONE_STATE = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY"


@contextmanager
def one_moment(using: str, room: Path) -> Iterator[str]:
    """Give the alias of a database that holds one moment's state and is not written to.

    ``room`` is a folder with space for a copy of an SQLite database; the copy is readable by its
    owner alone and gone afterwards. Raises BackupRefused inside a transaction, or where the
    database stays locked for a minute; OSError where the copy cannot be written.
    """
    connection = connections[using]
    if connection.in_atomic_block:
        raise BackupRefused(["A backup cannot be made within a transaction. Make it outside."])
    ways: dict[str, Callable[[str, Path], AbstractContextManager[str]]] = {
        "sqlite": copied,
        "postgresql": held_still,
    }
    with ways[connection.vendor](using, room) as alias:
        yield alias


@contextmanager
def held_still(using: str, room: Path) -> Iterator[str]:
    """PostgreSQL: one transaction that sees nothing of what others write."""
    with transaction.atomic(using=using):
        with connections[using].cursor() as cursor:
            cursor.execute(READ_ONE_STATE)
        yield using


@contextmanager
def copied(using: str, room: Path) -> Iterator[str]:
    """SQLite: a copy by the database's own online backup; writers wait for nothing."""
    live = connections[using]
    live.ensure_connection()
    with TemporaryDirectory(prefix=".backup-", dir=room) as folder:
        path = Path(folder) / "copy.sqlite3"
        copy_database(live.connection, path)
        settings = {**live.settings_dict, "NAME": str(path), "OPTIONS": {}}
        connections[COPY] = type(live)(settings, COPY)
        try:
            yield COPY
        finally:
            connections[COPY].close()
            del connections[COPY]


def copy_database(live: Any, path: Path) -> None:
    """Copy all pages in one step, so that no writer can make it start again."""
    naps = 0

    def give_up_in_time(status: int, remaining: int, total: int) -> None:
        nonlocal naps
        naps += status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
        if naps > MOST_NAPS:
            raise BackupRefused(
                ["The database stayed locked for a minute. Try again when no big load runs."]
            )

    copy = sqlite3.connect(path)
    try:
        live.backup(copy, pages=-1, progress=give_up_in_time, sleep=NAP)
    except sqlite3.Error as error:
        raise OSError(f"the copy of the database could not be made: {error}") from error
    finally:
        copy.close()
