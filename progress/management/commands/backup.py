"""Keep every record in one file, while the site is in use."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from progress.usecases.backups.refused import BackupRefused
from progress.usecases.keep_backup import keep_backup

CAUTION = (
    "Caution: the file holds children's data, password hashes and second-factor secrets. Encrypt"
    " it, keep it off this machine, and delete old ones as you would delete the records."
)


class Command(BaseCommand):
    """``manage.py backup FILE``"""

    help = (
        "Write every record, accounts and second factors among them, into one file that `restore`"
        " takes in on SQLite or PostgreSQL. The site may stay in use: the file holds one moment's"
        " state. Left out: sessions, so that people sign in again after a restore, and the secret"
        " key, which is a setting of the machine. On SQLite the folder needs room for a copy of"
        " the database besides; if the command is killed, delete its .backup- folder there."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the file, and whether one that is there may be replaced."""
        parser.add_argument("file", type=Path, help="The file to write.")
        parser.add_argument("--force", action="store_true", help="Replace the file if it is there.")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write the file; exits with 1 and leaves what was there where that cannot be done."""
        file: Path = options["file"]
        try:
            kept = keep_backup(file=file, made_at=timezone.now(), replace=options["force"])
        except FileExistsError as error:
            raise CommandError(f"{error} Name another file, or add --force.") from None
        except BackupRefused as refused:
            raise CommandError("\n".join(refused.problems)) from None
        except OSError as error:
            raise CommandError(
                f"{file}: no backup was made ({error}). See that the folder is there, may be"
                " written to and has room."
            ) from None
        for table in kept.tables:
            if table.rows:
                self.stdout.write(f"{table.name}: {table.rows:,} rows")
        megabytes = file.stat().st_size / 1_000_000
        self.stdout.write(f"{kept.rows:,} rows in all, {megabytes:.1f} MB, in {file}")
        self.stdout.write(self.style.WARNING(CAUTION))
