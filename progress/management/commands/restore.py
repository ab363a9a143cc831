"""Bring back every record from a backup: all of it, or nothing."""

from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from django.core.management import call_command, get_commands
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from progress.engine.parameters import VERSION
from progress.usecases.backups.manifest import Manifest
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.restore import NotAgreed, restore_backup

WORD = "replace"
ERASURES = "reapply_erasures"


class Command(BaseCommand):
    """``manage.py restore FILE``"""

    help = (
        "Put the records of a backup into an empty database that `migrate` has just made, or with"
        " --replace in the place of all that is there. Stop the site first. Everything is checked"
        " before anything is changed, and all of it is taken in or nothing. Sessions and the secret"
        " key are not in a backup."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the file, and whether what is there may be deleted."""
        parser.add_argument("file", type=Path, help="A file made by `backup`.")
        parser.add_argument(
            "--replace", action="store_true", help="Delete all records that are there."
        )
        parser.add_argument("--yes", action="store_true", help="Do not ask before deleting.")

    def handle(self, *args: Any, **options: Any) -> None:
        """Restore; exits with 1 and changes nothing where that cannot be done."""

        def agreed(manifest: Manifest, deleted: Mapping[str, int]) -> bool:
            return not deleted or options["yes"] or self.ask(manifest, deleted)

        try:
            restored = restore_backup(
                file=options["file"], replace=options["replace"], agreed=agreed
            )
        except BackupRefused as refused:
            for problem in refused.problems:
                self.stderr.write(problem)
            raise CommandError("Nothing was changed.") from None
        except NotAgreed:
            raise CommandError(
                "Nothing was changed: not agreed to. (--yes does not ask.)"
            ) from None
        except OSError as error:
            raise CommandError(f"{options['file']}: cannot be read ({error}).") from None
        self.report(restored)
        self.reapply_erasures()

    def ask(self, manifest: Manifest, deleted: Mapping[str, int]) -> bool:
        """Have a person type a word before rows are deleted."""
        self.stdout.write(
            f"{sum(deleted.values()):,} rows of this database will be deleted and"
            f" {manifest.rows:,} put in their place, as of {when(manifest)}."
        )
        try:
            return input(f"Type {WORD} to go on: ").strip() == WORD
        except EOFError:
            return False

    def report(self, restored: Manifest) -> None:
        """Say what is there now, and what a backup cannot bring back."""
        for table in restored.tables:
            if table.rows:
                self.stdout.write(f"{table.name}: {table.rows:,} rows")
        self.stdout.write(f"{restored.rows:,} rows in all, as of {when(restored)}.")
        if restored.engine_version != VERSION:
            self.stdout.write(
                f"The backup was made with engine {restored.engine_version}, this is {VERSION}:"
                " run `manage.py calibrate`."
            )
        self.stdout.write("Sessions are not in a backup: everybody signs in again.")
        self.stdout.write(
            self.style.WARNING(
                "Private links, consents and rights of access are as they were then. Close, end or"
                " withdraw again what was closed, ended or withdrawn since."
            )
        )

    def reapply_erasures(self) -> None:
        """Erase again whom the backup brought back after their erasure."""
        if ERASURES not in get_commands():
            self.stdout.write(f"Now run `manage.py {ERASURES}`.")
            return
        try:
            call_command(ERASURES, stdout=self.stdout, stderr=self.stderr)
        except (CommandError, OSError, ValueError) as error:
            raise CommandError(
                f"The records are restored, but people erased since then may be back: {error}"
                f" Run `manage.py {ERASURES}` before anybody uses the site."
            ) from None


def when(manifest: Manifest) -> str:
    """The moment of a backup, in the venue's time."""
    return f"{timezone.localtime(manifest.made_at):%d %B %Y, %H:%M}"
