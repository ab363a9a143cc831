"""Which attempts of the folder are stored already, and whether they say the same there."""

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any, TypeVar

from progress.models import Attempt
from progress.usecases.folders.check_attempts import Numbered
from progress.usecases.folders.layout import ATTEMPTS
from progress.usecases.folders.problems import Problems, shown
from progress.usecases.folders.texts import tidied

# As many ids in one question as every database takes.
IDS_AT_ONCE = 900
NEW_ID_OR_PAGE = (
    "Attempts are never changed by a file: correct it on the athlete's page, or give this row an"
    " id of its own."
)
COMPARED = (
    ("athlete", "athlete__code"),
    ("skill", "skill__code"),
    ("at", "at"),
    ("result", "result"),
    ("coach", "coach__code"),
    ("variant", "variant__code"),
    ("note", "note"),
)

T = TypeVar("T")


def split_stored(
    attempts: list[Numbered], problems: Problems
) -> tuple[list[Numbered], list[Numbered]]:
    """(new, stored) attempts; notes those stored with something else under the same id."""
    new: list[Numbered] = []
    same: list[Numbered] = []
    for some in in_chunks(attempts, IDS_AT_ONCE):
        stored = stored_as(attempt.uid for attempt in some)
        for attempt in some:
            if attempt.uid not in stored:
                new.append(attempt)
                continue
            same.append(attempt)
            compare(attempt, stored[attempt.uid], problems)
    return new, same


def stored_as(uids: Iterable[str]) -> dict[str, dict[str, Any]]:
    """What is stored under these ids, in the words of the file."""
    paths = [path for _, path in COMPARED]
    rows = Attempt.objects.filter(uid__in=list(uids)).order_by().values_list("uid", *paths)
    names = [name for name, _ in COMPARED]
    return {uid: dict(zip(names, values, strict=True)) for uid, *values in rows}


def compare(attempt: Numbered, stored: dict[str, Any], problems: Problems) -> None:
    """Note where the row says something else than the record. Empty cells say nothing.

    An id made from the row itself stands for exactly that; of equal rows with different notes
    nobody can tell which was which, so there the note is not compared.
    """
    if attempt.row.uid is None:
        return
    for name, value in stored.items():
        here = getattr(attempt.row, name)
        there = tidied(value) if name == "note" else value
        if here is not None and here != there:
            what = (
                f"{shown(attempt.uid)} is stored with another {name}:"
                f" {shown(str(there or ''))} there, {shown(str(here))} here."
            )
            problems.add(ATTEMPTS.file, attempt.row.line, "id", what, NEW_ID_OR_PAGE)
            return


def in_chunks(items: Iterable[T], size: int) -> Iterator[list[T]]:
    """The items in lists of ``size``."""
    rest = iter(items)
    while some := list(islice(rest, size)):
        yield some
