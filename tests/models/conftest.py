"""How the record tests say that the database itself refuses a row."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager

import pytest
from django.db import IntegrityError, connection, models, transaction

Refusal = Callable[[type[models.Model], str], AbstractContextManager[None]]


@pytest.fixture
def refused(db: None) -> Refusal:
    """``with refused(Model, "constraint or unique field"):`` the database refuses for that reason.

    Tests write with ``bulk_create``, which goes round ``save`` and ``clean``.
    """

    @contextmanager
    def refused(model: type[models.Model], name: str) -> Iterator[None]:
        with pytest.raises(IntegrityError) as caught, transaction.atomic():
            yield
        told = str(caught.value)
        for part in named_in_the_error(model, name):
            assert part in told

    return refused


def named_in_the_error(model: type[models.Model], name: str) -> list[str]:
    """What the database says when this constraint is broken; SQLite names a unique's columns."""
    constraint = next((one for one in model._meta.constraints if one.name == name), None)
    if constraint is not None and not isinstance(constraint, models.UniqueConstraint):
        return [name]
    if constraint is not None and connection.vendor == "postgresql":
        return [name]
    fields = constraint.fields if constraint is not None else (name,)
    columns = [str(model._meta.get_field(field).column) for field in fields]
    if connection.vendor == "postgresql":
        return [f"({', '.join(columns)})"]
    return [f"{model._meta.db_table}.{column}" for column in columns]
