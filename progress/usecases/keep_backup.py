"""Keeping every record of one moment in one file that either database can be restored from."""

from datetime import datetime
from hashlib import sha256
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.executor import MigrationExecutor

from progress.engine.parameters import VERSION
from progress.usecases.backups.manifest import NAME, Manifest, TableSum, path_of, to_bytes
from progress.usecases.backups.moment import one_moment
from progress.usecases.backups.place import refuse_other_than_a_file, whole_file
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.tables import Table, applied_migrations, lines_of, tables

OWNER_ALONE = 0o600 << 16
FIRST_YEAR_OF_ZIP, LAST_YEAR_OF_ZIP = 1980, 2107


def keep_backup(
    *, file: Path, made_at: datetime, replace: bool = False, using: str = DEFAULT_DB_ALIAS
) -> Manifest:
    """Write all tables but the sessions, as they stand at one moment, into ``file``.

    People may go on working meanwhile. The file is readable by its owner alone. Raises
    FileExistsError if it is there and ``replace`` is not set, OSError if it cannot be written, and
    BackupRefused if the database is not up to date; in all cases what was there is as before.
    """
    refuse_other_than_a_file(file, replace)
    with one_moment(using, file.parent) as still:
        refuse_open_migrations(still)
        with whole_file(file, replace=replace) as out, ZipFile(out, "w") as archive:
            manifest = Manifest(
                made_at=made_at,
                engine_version=VERSION,
                database=connections[still].vendor,
                migrations=applied_migrations(still),
                tables=tuple(write_table(archive, one, still, made_at) for one in tables()),
            )
            archive.writestr(entry(NAME, made_at), to_bytes(manifest))
    return manifest


def refuse_open_migrations(using: str) -> None:
    """Refuse a database whose tables are not those this version of the tool knows."""
    executor = MigrationExecutor(connections[using])
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        raise BackupRefused(["The database is not up to date. Run `manage.py migrate` first."])


def write_table(archive: ZipFile, table: Table, using: str, made_at: datetime) -> TableSum:
    """Write one table's lines, a few at a time, and give their number and sum."""
    rows, digest = 0, sha256()
    with archive.open(entry(path_of(table.name), made_at), "w", force_zip64=True) as out:
        for line in lines_of(table, using):
            out.write(line)
            digest.update(line)
            rows += 1
    return TableSum(table.name, table.column_names, rows, digest.hexdigest())


def entry(name: str, made_at: datetime) -> ZipInfo:
    """A file of the archive, dated by the backup so that no clock is read here."""
    year = min(max(made_at.year, FIRST_YEAR_OF_ZIP), LAST_YEAR_OF_ZIP)
    info = ZipInfo(name, (year, *made_at.timetuple()[1:6]))
    info.compress_type = ZIP_DEFLATED
    info.external_attr = OWNER_ALONE
    return info
