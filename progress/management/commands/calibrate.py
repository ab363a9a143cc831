"""``manage.py calibrate``: learn difficulties from the log; run it once a week."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from progress.usecases.calibrate_gym import calibrate_gym


class Command(BaseCommand):
    """Learn from all attempts before this week. Safe to run as often as you like."""

    help = "Learn skill difficulties and coach severities from attempts before this week."

    def handle(self, *args: Any, **options: Any) -> None:
        stored = calibrate_gym(today=timezone.localdate())
        self.stdout.write(f"{stored}, engine {stored.engine_version}.")
