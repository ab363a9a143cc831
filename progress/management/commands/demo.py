"""``manage.py demo``: set everything up, answer tonight's question, serve the site."""

from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from progress.pages.terminal.class_text import class_as_text
from progress.usecases.make_gym import GymNotEmpty
from progress.usecases.open_demo import Demo, open_demo

SEED = 2026


class Command(BaseCommand):
    """Migrate, load the catalogue and the made-up gym once, print tonight's class, serve."""

    help = "Try everything out on a made-up gym. Run it again and what you did is kept."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="Stop after printing.")
        parser.add_argument("--address", default="127.0.0.1:8000", help="Where to serve.")
        parser.add_argument("--seed", type=int, default=SEED, help="Another gym, same story.")

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        try:
            demo = open_demo(seed=options["seed"], today=timezone.localdate())
        except GymNotEmpty as error:
            raise CommandError(str(error)) from None
        self._print(demo)
        if options["no_serve"]:
            return
        self.stdout.write(f"\nThe site is at http://{options['address']}/  (Ctrl+C stops it)\n")
        call_command("runserver", options["address"], use_reloader=False, verbosity=0)

    def _print(self, demo: Demo) -> None:
        gym = demo.gym
        kept = "made" if gym.made else "kept as it is"
        self.stdout.write(
            f"Made-up gym {kept}: {gym.athletes} athletes in {gym.classes} classes, "
            f"{gym.attempts} attempts at {gym.skills} skills.\n"
        )
        if demo.tonight is not None:
            self.stdout.write("\n" + class_as_text(demo.tonight) + "\n")
        self.stdout.write("\nDemo sign-ins (public passwords: for the made-up gym only)\n")
        for sign_in in demo.sign_ins:
            self.stdout.write(f"  {sign_in.username:8} {sign_in.password:20} {sign_in.who}\n")
