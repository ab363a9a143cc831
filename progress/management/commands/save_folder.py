"""Write the records into a folder of CSV files."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from progress.usecases.save_folder import FilesInTheWay, save_folder


class Command(BaseCommand):
    """``manage.py save_folder DIR``"""

    help = "Save skills.csv, athletes.csv, attempts.csv and floor.csv into a folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the folder, and whether files in it may be replaced."""
        parser.add_argument("folder", type=Path, help="The folder to write into.")
        parser.add_argument(
            "--replace", action="store_true", help="Replace such files that are there already."
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Save the folder; exits with 1 where that cannot be done."""
        try:
            saved = save_folder(folder=options["folder"], replace=options["replace"])
        except FilesInTheWay as error:
            raise CommandError(f"{error} Name another folder, or add --replace.") from None
        except OSError as error:
            raise CommandError(f"{options['folder']}: cannot be written ({error}).") from None
        for file, rows in saved.files.items():
            self.stdout.write(f"{file}: {rows:,} rows")
        for remark in saved.remarks:
            self.stdout.write(remark)
