"""``manage.py reapply_erasures``: run it after putting an older backup back."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from progress.usecases.families.erasures_kept import erasures_path
from progress.usecases.families.reapply_erasures import reapply_erasures


class Command(BaseCommand):
    """Erase again whoever an older backup brought back. Running it twice does no harm."""

    help = "After a restore: erase again every child that had been erased since the backup."

    def handle(self, *args: Any, **options: Any) -> None:
        done = reapply_erasures(now=timezone.now())
        self.stdout.write(
            f"{done.listed} on the list, {done.again} erased again,"
            f" {done.listed - done.again - len(done.left_alone)} not among the records by name."
        )
        for code in done.left_alone:
            self.stdout.write(
                f"{code}: left alone, because nothing about this child is older than the erasure."
                " If it is the same child, open a request on the page Erasures."
            )
        if done.listed == 0:
            self.stdout.write(f"Looked in {erasures_path()}: is it the data folder of this gym?")
