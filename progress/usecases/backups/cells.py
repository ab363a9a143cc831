"""One cell of a table on its way into a line of JSON and back, losing nothing.

Text, whole numbers, yes/no and null are JSON's own. A float is written with the fewest digits
that give the same bits back; JSON has no word for infinities, so they are written as text. JSON
columns travel as the text the database keeps, which holds apart an empty cell and a JSON null.
"""

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any

from django.db import models

Turn = Callable[[Any], Any]


@dataclass(frozen=True)
class Kind:
    """How cells of one kind of column are written into a line, and read from it.

    ``pack`` is None where the value is JSON already. ``unpack`` raises ValueError or TypeError on
    what no such cell can hold. ``casts`` are SQL types a database must be told, by vendor.
    """

    word: str
    pack: Turn | None
    unpack: Turn
    casts: tuple[tuple[str, str], ...] = ()

    def placeholder(self, vendor: str) -> str:
        """The place of a value in an INSERT on this database."""
        cast = dict(self.casts).get(vendor)
        return f"%s::{cast}" if cast else "%s"


def exactly(kind: type) -> Turn:
    """A check that a value is of this type and of no other that Python would let pass."""

    def check(value: Any) -> Any:
        if type(value) is not kind:
            raise TypeError(f"{kind.__name__} expected")
        return value

    return check


def pack_float(value: float) -> float | str:
    value = float(value)
    return value if math.isfinite(value) else str(value)


def unpack_float(value: Any) -> float:
    if type(value) not in (float, int, str):
        raise TypeError("number expected")
    return float(value)


def pack_moment(value: datetime) -> str:
    return value.astimezone(UTC).isoformat()


def unpack_moment(value: Any) -> datetime:
    moment = datetime.fromisoformat(value)
    if moment.tzinfo is None:
        raise ValueError("a time without a zone")
    return moment


def unpack_json(value: Any) -> str:
    """The text itself: only looked at, because loading it would change some numbers."""
    json.loads(value)
    return str(value)


TEXT = Kind("text", None, exactly(str))
WHOLE = Kind("whole number", None, exactly(int))
YES_NO = Kind("yes or no", None, exactly(bool))
# Written as a bare number, PostgreSQL would take -0.0 for 0.
FLOAT = Kind("number", pack_float, unpack_float, (("postgresql", "double precision"),))
DECIMAL = Kind("decimal", str, lambda value: Decimal(exactly(str)(value)))
MOMENT = Kind("time with a zone", pack_moment, unpack_moment)
DAY = Kind("day", date.isoformat, date.fromisoformat)
HOUR = Kind("time of day", time.isoformat, time.fromisoformat)
JSON = Kind("JSON", None, unpack_json, (("postgresql", "jsonb"),))

# The first that fits counts: a DateTimeField is a DateField as well.
KINDS: tuple[tuple[type[models.Field], Kind], ...] = (
    (models.JSONField, JSON),
    (models.BooleanField, YES_NO),
    (models.IntegerField, WHOLE),
    (models.FloatField, FLOAT),
    (models.DecimalField, DECIMAL),
    (models.DateTimeField, MOMENT),
    (models.DateField, DAY),
    (models.TimeField, HOUR),
    (models.CharField, TEXT),
    (models.TextField, TEXT),
)


def kind_of(field: Any) -> Kind:
    """How this column's cells travel; TypeError for a column of a kind not provided for."""
    while field.remote_field is not None:
        field = field.target_field
    for type_of_field, kind in KINDS:
        if isinstance(field, type_of_field):
            return kind
    raise TypeError(f"{field}: backups do not know columns of the kind {type(field).__name__}.")
