"""``manage.py bring_up_to_date``: work out what the lead's board shows; run it every night."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from progress.usecases.standings.keep_up import bring_up_to_date


class Command(BaseCommand):
    """Work out every standing that is older than today. Safe to run as often as you like."""

    help = "Work out the standings on the lead's board that are not as of today."

    def handle(self, *args: Any, **options: Any) -> None:
        today = timezone.localdate()
        done = bring_up_to_date(today=today)
        waiting = f" {done.waiting} changed meanwhile and still wait." if done.waiting else ""
        self.stdout.write(f"Worked out {done.worked_out} standings as of {today}.{waiting}")
