"""Which tables a backup holds, in which order, and their rows as lines of text.

Every table that Django made is held, those of accounts and second factors among them, so a table
added later is held without a word here. Sessions are left out: a backup must open nobody's door.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import TopologicalSorter
from typing import Any

from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import connections, models
from django.db.models.functions import Cast

from progress.usecases.backups.cells import JSON, Kind, kind_of

LEFT_OUT: tuple[type[models.Model], ...] = (Session,)
ROWS_AT_ONCE = 500
# A calibration of a big gym is long, so few of them are in memory at once.
LONG_ROWS_AT_ONCE = 10
write_json = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode


@dataclass(frozen=True)
class Column:
    """One column: its name in the database, its field, and how its cells travel."""

    name: str
    field: Any
    kind: Kind


@dataclass(frozen=True)
class Table:
    """One table: its model, its name in the database and its columns in the model's order."""

    model: type[models.Model]
    name: str
    columns: tuple[Column, ...]

    @property
    def column_names(self) -> tuple[str, ...]:
        return tuple(column.name for column in self.columns)

    @property
    def rows_at_once(self) -> int:
        """How many rows are worked on together, by how long they may be."""
        long = any(column.kind is JSON for column in self.columns)
        return LONG_ROWS_AT_ONCE if long else ROWS_AT_ONCE


def tables() -> list[Table]:
    """All tables of a backup, each after those its rows point to."""
    kept = [
        model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy and model not in LEFT_OUT
    ]
    kept.sort(key=lambda model: model._meta.db_table)
    order: TopologicalSorter[type[models.Model]] = TopologicalSorter()
    for model in kept:
        related = (field.related_model for field in model._meta.local_concrete_fields)
        order.add(model, *(other for other in related if other not in (None, model)))
    return [table_of(model) for model in order.static_order()]


def table_of(model: type[models.Model]) -> Table:
    """This model's table."""
    columns = (
        Column(str(field.column), field, kind_of(field))
        for field in model._meta.local_concrete_fields
        if not getattr(field, "generated", False)
    )
    return Table(model, model._meta.db_table, tuple(columns))


def lines_of(table: Table, using: str) -> Iterator[bytes]:
    """The rows of a table by primary key, each a JSON array in a line of its own, never all."""
    names, texts = [], {}
    for column in table.columns:
        name = column.field.attname
        if column.kind is JSON:
            name = f"{name}_as_text"
            texts[name] = Cast(column.field.attname, models.TextField())
        names.append(name)
    rows = table.model._base_manager.using(using).order_by("pk").annotate(**texts)
    packed = [(at, one.kind.pack) for at, one in enumerate(table.columns) if one.kind.pack]
    for row in rows.values_list(*names).iterator(chunk_size=table.rows_at_once):
        cells = list(row)
        for at, pack in packed:
            if cells[at] is not None:
                cells[at] = pack(cells[at])
        yield write_json(cells).encode() + b"\n"


def row_of(table: Table, line: bytes) -> list[Any]:
    """The cells of a line, as Python's values; ValueError says what is wrong with it."""
    cells = json.loads(line)
    if not isinstance(cells, list) or len(cells) != len(table.columns):
        raise ValueError(f"is not a row of {len(table.columns)} cells")
    for at, (cell, column) in enumerate(zip(cells, table.columns, strict=True)):
        if cell is None:
            continue
        try:
            cells[at] = column.kind.unpack(cell)
        except (ValueError, TypeError, ArithmeticError):
            said = f"column {column.name}: is not a {column.kind.word}"
            raise ValueError(said) from None
    return cells


def count_rows(using: str, held: list[Table]) -> dict[str, int]:
    """How many rows each of these tables has now, by its name."""
    return {one.name: one.model._base_manager.using(using).count() for one in held}


def applied_migrations(using: str) -> tuple[str, ...]:
    """What this database was last brought to, as sorted ``app.name``."""
    with connections[using].cursor() as cursor:
        if "django_migrations" not in connections[using].introspection.table_names(cursor):
            return ()
        cursor.execute("SELECT app, name FROM django_migrations ORDER BY app, name")
        return tuple(sorted({f"{app}.{name}" for app, name in cursor.fetchall()}))
