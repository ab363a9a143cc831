"""What is wrong with a folder, said so that the person who made it can mend it."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, NamedTuple

# One mistake may sit on every line of a long file; this many of each kind are kept in memory.
KEPT_OF_A_KIND = 200
LONGEST_SHOWN = 60
MOST_CODES_TO_COMPARE = 2_000


class Problem(NamedTuple):
    """One mistake: where it is, what is wrong, and how to mend it.

    ``line`` counts from 1 as a text editor does; None where the whole file or folder is meant.
    """

    file: str
    line: int | None
    column: str | None
    what: str
    mend: str

    def __str__(self) -> str:
        place = self.file
        if self.line is not None:
            place += f", line {self.line}"
        if self.column is not None:
            place += f", column {self.column}"
        return f"{place}: {self.what} {self.mend}"

    @property
    def kind(self) -> tuple[str, str | None, str]:
        """Problems of one kind are mended alike."""
        return (self.file, self.column, self.mend)


class FolderRefused(ValueError):
    """The folder was not taken and nothing was stored.

    ``problems`` are in the order of the files; where one kind came up very often only the first
    are kept, and ``total`` counts all of them. ``remarks`` are about things that do not matter.
    """

    def __init__(
        self, problems: Iterable[Problem], *, total: int | None = None, remarks: Iterable[str] = ()
    ) -> None:
        self.problems = tuple(problems)
        self.total = len(self.problems) if total is None else total
        self.remarks = tuple(remarks)
        super().__init__(f"{count(self.total, 'problem')}; first: {self.problems[0]}")

    def lines(self, most: int) -> list[str]:
        """At most ``most`` problems, one line each, every kind heard before any is repeated."""
        seen: Counter[Any] = Counter()
        ranked = []
        for place, problem in enumerate(self.problems):
            ranked.append((seen[problem.kind], place))
            seen[problem.kind] += 1
        chosen = sorted(place for _, place in sorted(ranked)[:most])
        lines = [str(self.problems[place]) for place in chosen]
        more = self.total - len(lines)
        if more:
            lines.append(f"... and {count(more, 'more problem')} of these kinds.")
        return lines


class Problems:
    """Collects problems without letting a long file fill the memory."""

    def __init__(self) -> None:
        self.total = 0
        self.remarks: list[str] = []
        self._kept: dict[tuple[str, str | None, str], list[Problem]] = {}

    def add(self, file: str, line: int | None, column: str | None, what: str, mend: str) -> None:
        """Note one problem. ``mend`` is the same sentence for every problem of a kind."""
        problem = Problem(file, line, column, what, mend)
        self.total += 1
        of_a_kind = self._kept.setdefault(problem.kind, [])
        if len(of_a_kind) < KEPT_OF_A_KIND:
            of_a_kind.append(problem)

    def raise_if_any(self, order: Iterable[str]) -> None:
        """Raise FolderRefused if anything was noted; ``order`` is the order of the files."""
        if self.total:
            raise self.refusal(order)

    def refusal(self, order: Iterable[str]) -> FolderRefused:
        """What was noted so far, file by file and line by line."""
        places = {file: place for place, file in enumerate(order)}
        kept = [problem for of_a_kind in self._kept.values() for problem in of_a_kind]
        kept.sort(key=lambda problem: (places.get(problem.file, -1), problem.line or 0))
        return FolderRefused(kept, total=self.total, remarks=self.remarks)


@dataclass
class Known:
    """Codes a cell may name. ``complete`` is false where a spoilt file may have held more."""

    codes: Collection[str]
    complete: bool = True
    # Looking for the nearest code is slow, so it is done for the first few strangers only.
    hints_left: int = 20

    def strange(self, code: str) -> bool:
        """Whether the code is surely unknown."""
        return self.complete and code not in self.codes

    def hint(self, code: str) -> str:
        """Words that name the known code nearest to ``code``, or nothing."""
        if not self.hints_left:
            return ""
        self.hints_left -= 1
        same = [known for known in self.codes if known.casefold() == code.casefold()]
        if not same and len(self.codes) <= MOST_CODES_TO_COMPARE:
            same = get_close_matches(code, self.codes, n=1, cutoff=0.75)
        return f" (did you mean {shown(same[0])}?)" if same else ""


def shown(text: str) -> str:
    """``text`` in quotation marks, short, on one line and with nothing a terminal would obey."""
    if len(text) > LONGEST_SHOWN:
        text = text[: LONGEST_SHOWN - 1] + "…"
    safe = (
        letter if letter.isprintable() else letter.encode("unicode_escape").decode()
        for letter in text
    )
    return "'" + "".join(safe) + "'"


def count(number: int, thing: str) -> str:
    """``number`` and ``thing``, with an s where there is not one."""
    return f"{number:,} {thing}" if number == 1 else f"{number:,} {thing}s"


def some_of(names: Collection[str], most: int = 10) -> str:
    """The first few names in a row, and how many there are besides."""
    listed = ", ".join(shown(name) for name in sorted(names)[:most])
    return listed if len(names) <= most else f"{listed} and {len(names) - most:,} more"
