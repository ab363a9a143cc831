"""Whether a backup may be taken into this database as it is now."""

from collections.abc import Collection

from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.db import connections, models

from progress.usecases.backups.manifest import Manifest
from progress.usecases.backups.tables import Table, applied_migrations, count_rows

MADE_BY_MIGRATE: tuple[type[models.Model], ...] = (ContentType, Permission)
MOST_NAMED = 5


def misfits(manifest: Manifest, held: list[Table], using: str) -> list[str]:
    """Why tables and migrations of a backup are not those of this database."""
    there = set(applied_migrations(using))
    if not there:
        return ["The database has no tables yet. Run `manage.py migrate` first."]
    kept = set(manifest.migrations)
    problems = []
    if missing := kept - there:
        problems.append(
            f"The backup has migrations this database lacks: {some(missing)}. Run `manage.py"
            " migrate`; if they are still missing, install the newer version of the tool."
        )
    if newer := there - kept:
        problems.append(
            f"This database has migrations the backup lacks: {some(newer)}. Restore into an empty"
            " database with the version of the tool that made the backup, then install this one"
            " and run `manage.py migrate`."
        )
    if problems:
        return problems
    told = {table.name: table.columns for table in manifest.tables}
    known = {table.name: table.column_names for table in held}
    if told != known or len(told) != len(manifest.tables):
        differing = {name for name in {*told, *known} if told.get(name) != known.get(name)}
        return [
            f"The backup's tables are not those of this version of the tool: {some(differing)}."
            " Restore with the version that made the backup."
        ]
    return []


def rows_in_the_way(held: list[Table], using: str) -> dict[str, int]:
    """Rows of this database that a restore would delete, by table, where there are any."""
    filled = [table for table in held if table.model not in MADE_BY_MIGRATE]
    present = connections[using].introspection.table_names()
    filled = [table for table in filled if table.name in present]
    return {name: rows for name, rows in count_rows(using, filled).items() if rows}


def some(names: Collection[str]) -> str:
    """The first few names in a row."""
    listed = ", ".join(sorted(names)[:MOST_NAMED])
    more = len(names) - MOST_NAMED
    return f"{listed} and {more} more" if more > 0 else listed
