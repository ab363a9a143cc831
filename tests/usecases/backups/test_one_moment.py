"""The site stays in use: a backup is one moment's state, and its memory does not grow."""

import sqlite3
import threading
import tracemalloc
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import psycopg
import pytest
from django.db import connections, transaction

from progress.models import Attempt
from progress.usecases.backups import moment
from progress.usecases.backups.manifest import Manifest
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.restore import restore_backup
from progress.usecases.keep_backup import keep_backup
from tests import makers
from tests.usecases.backups.conftest import NOON
from tests.usecases.backups.elsewhere import new_postgres

# Two tables that stand far apart in a backup, and one between them that takes a while to read.
LADDER = "INSERT INTO progress_ladder (code, name, \"order\") VALUES ('{0}', '', 0)"
TIER = "INSERT INTO auth_group (name) VALUES ('{0}')"
MANY = 6_000
MEGABYTE = 1_000_000


class Writer(threading.Thread):
    """Writes one row into each of two tables in a transaction, over and over, until stopped."""

    def __init__(self, connect: Callable[[], Any]) -> None:
        super().__init__(daemon=True)
        self.connect, self.written = connect, 0
        self.stopped, self.started_writing = threading.Event(), threading.Event()

    def run(self) -> None:
        database = self.connect()
        while not self.stopped.is_set():
            database.execute("BEGIN")
            for statement in (LADDER, TIER):
                database.execute(statement.format(f"at-{self.written}"))
            database.execute("COMMIT")
            self.written += 1
            self.started_writing.set()
        database.close()

    def __enter__(self) -> "Writer":
        self.start()
        assert self.started_writing.wait(20)
        return self

    def __exit__(self, *error: object) -> None:
        self.stopped.set()
        self.join(20)


def write_many(alias: str, number: int) -> None:
    """Groups enough that reading them lasts a while."""
    with transaction.atomic(using=alias), connections[alias].cursor() as cursor:
        cursor.executemany(
            "INSERT INTO progress_area (code, name, small) VALUES (%s, %s, %s)",
            [(f"area-{at}", "x" * 100, False) for at in range(number)],
        )


def rows_in(manifest: Manifest, name: str) -> int:
    [found] = [table.rows for table in manifest.tables if table.name == name]
    return found


def assert_one_moment(alias: str, connect: Callable[[], Any], file: Path) -> None:
    """Back up while a thread writes: both tables hold the same number, and it went on writing."""
    write_many(alias, MANY)
    with Writer(connect) as writer:
        kept = keep_backup(file=file, made_at=NOON, using=alias)
        after = writer.written
    ladders, groups = rows_in(kept, "progress_ladder"), rows_in(kept, "auth_group")
    assert rows_in(kept, "progress_area") == MANY
    assert ladders == groups
    assert 0 < ladders < after


def test_a_backup_of_a_busy_file_is_one_moments_state(elsewhere: str, tmp_path: Path) -> None:
    def connect() -> sqlite3.Connection:
        return sqlite3.connect(tmp_path / "gym.sqlite3", timeout=20, isolation_level=None)

    assert_one_moment(elsewhere, connect, tmp_path / "file")


def test_a_backup_of_a_busy_postgresql_is_one_moments_state(
    transactional_db: None, tmp_path: Path, postgres_url: str
) -> None:
    with new_postgres(postgres_url) as alias:
        settings = connections[alias].get_connection_params()
        words = {"dbname", "user", "password", "host", "port"} & set(settings)
        told = {word: settings[word] for word in words}
        assert_one_moment(
            alias, lambda: psycopg.connect(**told, autocommit=True), tmp_path / "file"
        )


def test_without_the_copy_the_two_tables_would_differ(
    elsewhere: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The check above is able to fail."""
    monkeypatch.setattr(moment, "copied", as_it_is)
    with pytest.raises(AssertionError, match="=="):
        test_a_backup_of_a_busy_file_is_one_moments_state(elsewhere, tmp_path)


@moment.contextmanager
def as_it_is(using: str, room: Path) -> Iterator[str]:
    yield using


def test_nothing_of_the_copy_is_left(elsewhere: str, tmp_path: Path) -> None:
    keep_backup(file=tmp_path / "file", made_at=NOON, using=elsewhere)
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_within_a_transaction_no_backup_is_made(elsewhere: str, tmp_path: Path) -> None:
    with transaction.atomic(using=elsewhere), pytest.raises(BackupRefused, match="outside"):
        keep_backup(file=tmp_path / "file", made_at=NOON, using=elsewhere)
    assert not (tmp_path / "file").exists()


def test_a_database_that_stays_locked_is_given_up(
    elsewhere: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a write-ahead log a writer locks readers out; the backup does not wait for ever."""
    monkeypatch.setattr(moment, "NAP", 0.01)
    monkeypatch.setattr(moment, "MOST_NAPS", 5)
    live = connections[elsewhere]
    with live.cursor() as cursor:
        cursor.execute("PRAGMA journal_mode=DELETE")
        cursor.execute("PRAGMA busy_timeout=10")
    other = sqlite3.connect(tmp_path / "gym.sqlite3", isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    copy = tmp_path / "copy"
    with pytest.raises((BackupRefused, OSError), match="locked"):
        moment.copy_database(live.connection, copy)
    other.execute("ROLLBACK")
    other.close()


def add_attempts(first: int, last: int) -> None:
    athlete, skill = makers.make_athlete(), makers.make_skill()
    Attempt.objects.bulk_create(
        (
            Attempt(
                uid=f"uid-{at}",
                athlete=athlete,
                skill=skill,
                at=NOON - timedelta(minutes=at),
                result="clean",
                note="Both feet",
            )
            for at in range(first, last)
        ),
        batch_size=1_000,
    )


def peak_of(work: Callable[[], object]) -> int:
    """The most memory, in bytes, that Python held more than before during some work."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_does_not_grow_with_the_log(
    transactional_db: None, elsewhere: str, tmp_path: Path
) -> None:
    """Ten times the attempts, the same memory: a log of a million fits as well."""
    few, many = tmp_path / "few", tmp_path / "many"
    add_attempts(0, 5_000)
    keeping = [peak_of(lambda: keep_backup(file=few, made_at=NOON))]
    restoring = [peak_of(lambda: restore_backup(file=few, using=elsewhere))]
    add_attempts(5_000, 50_000)
    keeping.append(peak_of(lambda: keep_backup(file=many, made_at=NOON)))
    restoring.append(peak_of(lambda: restore_backup(file=many, using=elsewhere, replace=True)))
    assert Attempt.objects.using(elsewhere).count() == 50_000
    for small, big in (keeping, restoring):
        assert big < small + MEGABYTE
        assert big < 12 * MEGABYTE
    with ZipFile(many) as archive:  # the lines are longer than what was ever held of them
        assert archive.getinfo("tables/progress_attempt.jsonl").file_size > 5 * MEGABYTE
