"""Why a backup was not made or not taken in, said with what to do about it."""

from collections.abc import Iterable


class BackupRefused(ValueError):
    """Nothing was written or changed. ``problems`` are sentences that say what to do."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = tuple(problems)
        super().__init__(" ".join(self.problems))


DAMAGED = "Take another copy of the file, or an older backup; this one is damaged."
