"""``manage.py report --as-of DATE --out DIR``: the whole gym's answers as four files."""

from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from progress.usecases.write_report import write_report

YEARS = (1900, 2200)  # no log of this gym lies outside, and dates have room to count in


class Command(BaseCommand):
    """Write estimates, readiness, suggestions and next checks for a day."""

    help = "Write estimates.csv, readiness.csv, suggestions.csv and next_checks.csv for a day."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as-of", help="Day as YYYY-MM-DD; today if left out.")
        parser.add_argument("--out", required=True, help="Folder to write the files into.")

    def handle(self, *args: Any, **options: Any) -> None:
        as_of = _day(options["as_of"]) if options["as_of"] else timezone.localdate()
        folder = Path(options["out"])
        try:
            written = write_report(folder=folder, as_of=as_of)
        except OSError as error:
            raise CommandError(f"Cannot write to {folder}: {error.strerror}.") from None
        for name, rows in written.rows.items():
            self.stdout.write(f"{folder / name}: {rows} rows")


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"{text!r} is not a day. Write it as YYYY-MM-DD.") from None
    if not YEARS[0] <= day.year <= YEARS[1]:
        raise CommandError(f"{text} is out of reach. Take a day from {YEARS[0]} to {YEARS[1]}.")
    return day
