"""Emptying a database's tables and filling them from a backup's lines."""

import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from django.core.management.color import no_style
from django.db import Error, OperationalError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from progress.usecases.backups.cells import JSON
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.tables import LEFT_OUT, Table, row_of

MEND = "Mend that record where the backup was made, and make a new backup."
DAMAGED_LINE = "The line was changed or damaged. Take another copy or an older backup."


def lock(held: list[Table], using: str) -> None:
    """Keep everybody else out until the end of the transaction. SQLite does so by itself."""
    connection = connections[using]
    if connection.vendor == "postgresql":
        names = ", ".join(connection.ops.quote_name(table.name) for table in held)
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {names} IN ACCESS EXCLUSIVE MODE")


def empty(held: list[Table], using: str) -> None:
    """Delete every row and every session. Triggers refuse changes of attempts, not deletion."""
    connection = connections[using]
    names = [table.name for table in reversed(held)]
    names += [model._meta.db_table for model in LEFT_OUT]
    with connection.cursor() as cursor:
        for statement in connection.ops.sql_flush(no_style(), names):
            cursor.execute(statement)


def fill(table: Table, lines: Iterable[bytes], using: str) -> int:
    """Insert a table's lines, a few at a time, and give their number.

    Raises BackupRefused that names the line which is spoilt or which the database refuses.
    """
    connection = connections[using]
    statement = insertion(table, connection)
    rows = 0
    for batch in batches(table, lines, connection):
        try:
            with transaction.atomic(using=using), connection.cursor() as cursor:
                cursor.executemany(statement, batch)
        except OperationalError:
            raise  # the disk, a lock, the connection: not the row's fault
        except Error as error:
            raise refused_row(table, statement, batch, rows, error, using) from error
        rows += len(batch)
    return rows


def insertion(table: Table, connection: BaseDatabaseWrapper) -> str:
    """The INSERT for a row of this table."""
    quote = connection.ops.quote_name
    names = ", ".join(quote(column.name) for column in table.columns)
    places = ", ".join(column.kind.placeholder(connection.vendor) for column in table.columns)
    return f"INSERT INTO {quote(table.name)} ({names}) VALUES ({places})"


def batches(
    table: Table, lines: Iterable[bytes], connection: BaseDatabaseWrapper
) -> Iterator[list[list[Any]]]:
    """Rows as this database takes them, a bounded number at a time."""
    rows = database_rows(table, lines, connection)
    while batch := list(islice(rows, table.rows_at_once)):
        yield batch


def database_rows(
    table: Table, lines: Iterable[bytes], connection: BaseDatabaseWrapper
) -> Iterator[list[Any]]:
    """Each line's cells as values for this database."""
    turned = [
        (at, column.field) for at, column in enumerate(table.columns) if column.kind is not JSON
    ]
    turned = [(at, field) for at, field in turned if adapts(field)]
    for number, line in enumerate(lines, start=1):
        try:
            cells = row_of(table, line)
        except (ValueError, RecursionError) as error:
            said = "is not JSON" if isinstance(error, json.JSONDecodeError) else error
            raise BackupRefused(
                [f"Table {table.name}, line {number}: {said}. {DAMAGED_LINE}"]
            ) from None
        for at, field in turned:
            cells[at] = field.get_db_prep_value(cells[at], connection, prepared=True)
        yield cells


def adapts(field: Any) -> bool:
    """Whether a column's values look different on some databases: days, times and decimals."""
    return field.get_internal_type() in {"DateTimeField", "DateField", "TimeField", "DecimalField"}


def refused_row(
    table: Table, statement: str, batch: list[list[Any]], before: int, error: Error, using: str
) -> BackupRefused:
    """Find the row of a batch that the database does not take, by inserting them one by one."""
    place = f"lines {before + 1} to {before + len(batch)}"
    for number, row in enumerate(batch, start=before + 1):
        try:
            with transaction.atomic(using=using), connections[using].cursor() as cursor:
                cursor.execute(statement, row)
        except Error as narrower:
            place, error = f"line {number} (id {row[0]})", narrower
            break
    said = str(error).strip().partition("\n")[0]
    return BackupRefused([f"Table {table.name}, {place}: refused by the database: {said}. {MEND}"])


def finish(held: list[Table], using: str) -> None:
    """See that every row points to one that is there, and let new rows count on from the last."""
    connection = connections[using]
    try:
        connection.check_constraints(table_names=[table.name for table in held])
    except Error as error:
        said = str(error).strip().partition("\n")[0]
        raise BackupRefused(
            [f"Rows of the backup do not fit each other: {said}. {MEND}"]
        ) from error
    with connection.cursor() as cursor:
        models = [table.model for table in held]
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
