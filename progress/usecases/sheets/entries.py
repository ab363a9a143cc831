"""One try as it was entered on a sheet, and the refusal of a sending."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Entry:
    """One try as entered; ``uid`` was made where it was entered, ``variant`` is a code.

    ``at`` is when the try was entered, None for the moment it arrives. A correction names the
    ``uid`` it ``supersedes`` and says the ``reason``; ``taken_back`` strikes that try out.
    """

    uid: str
    athlete: str
    skill: str
    result: str
    variant: str | None = None
    note: str = ""
    at: datetime | None = None
    supersedes: str | None = None
    taken_back: bool = False
    reason: str = ""


@dataclass(frozen=True)
class Problem:
    """What is wrong with one entry of a sending; ``number`` counts from 1, 0 for the whole."""

    number: int
    uid: str
    what: str

    def __str__(self) -> str:
        return f"Entry {self.number}: {self.what}." if self.number else self.what


class ChecksRefused(ValueError):
    """Something is wrong with the entries; nothing was stored.

    ``found`` says what, entry by entry; ``problems`` the same as sentences.
    """

    def __init__(self, found: Sequence[Problem]) -> None:
        self.found = tuple(found)
        super().__init__("; ".join(self.problems[:5]))

    @property
    def problems(self) -> list[str]:
        """Each problem as a sentence."""
        return [str(problem) for problem in self.found]
