"""Take in a folder of CSV files, or say line by line what has to be mended first."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.folders.problems import FolderRefused, count
from progress.usecases.load_folder import SIZE_LIMIT, Loaded, load_folder

MOST_LINES = 200
MEGABYTE = 1_000_000


class Command(BaseCommand):
    """``manage.py load_folder DIR``"""

    help = "Load skills.csv, athletes.csv, attempts.csv and floor.csv (any of them) from a folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Name the folder, and how long a file may be."""
        parser.add_argument("folder", type=Path, help="The folder that holds the CSV files.")
        parser.add_argument(
            "--most-mb",
            type=float,
            default=SIZE_LIMIT / MEGABYTE,
            help="Files longer than this many megabytes are not read (%(default)g).",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Load the folder; exits with 1 and stores nothing where anything is wrong."""
        try:
            loaded = load_folder(
                folder=options["folder"],
                now=timezone.now(),
                size_limit=int(options["most_mb"] * MEGABYTE),
            )
        except FolderRefused as refused:
            for line in (*refused.lines(MOST_LINES), *refused.remarks):
                self.stderr.write(line)
            raise CommandError(
                f"Nothing was stored: {count(refused.total, 'problem')} to mend."
            ) from None
        self.report(loaded)
        # Pages take the newest calibration, so one is made that knows what was just loaded.
        calibrate_gym(today=timezone.localdate())

    def report(self, loaded: Loaded) -> None:
        """Say what was stored."""
        for file, tally in loaded.files.items():
            if tally.new or tally.same or tally.updated:
                self.stdout.write(
                    f"{file}: {tally.new:,} new, {tally.updated:,} updated, {tally.same:,} the same"
                )
        for remark in loaded.remarks:
            self.stdout.write(remark)
