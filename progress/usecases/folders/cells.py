"""What one cell may hold: each reader takes the text of a cell that is not empty."""

import math
import re
from collections.abc import Callable, Iterable
from typing import Any

from progress.usecases.folders.problems import shown
from progress.usecases.folders.texts import pieces_of

Reader = Callable[[str], Any]

A_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?", re.ASCII)
WHOLE = re.compile(r"([+-]?\d{1,9})(?:\.0*)?", re.ASCII)
WITH_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
YES = frozenset({"yes", "y", "true", "1"})
NO = frozenset({"no", "n", "false", "0"})
# Word processors and some spreadsheets put a true minus sign where a hyphen is meant.
MINUS_SIGN = "\N{MINUS SIGN}"
# The widest whole number the records hold.
MOST = 32_767


class BadCell(ValueError):
    """The cell does not hold what its column asks for."""

    def __init__(self, what: str, mend: str) -> None:
        self.what = what
        self.mend = mend
        super().__init__(what)


def text(longest: int | None = None) -> Reader:
    """Any text up to ``longest`` characters."""

    def read(cell: str) -> str:
        if longest is not None and len(cell) > longest:
            raise BadCell(f"{len(cell):,} characters are too many.", f"Write {longest} at most.")
        return cell

    return read


def code(longest: int, spaces: bool = True) -> Reader:
    """A short name on one line with no character that cannot be seen."""
    read_text = text(longest)

    def read(cell: str) -> str:
        if not cell.isprintable():
            raise BadCell(f"{shown(cell)} holds a hidden character.", "Type the code again.")
        if not spaces and " " in cell:
            raise BadCell(f"{shown(cell)} holds a space.", "Write a hyphen instead.")
        return str(read_text(cell))

    return read


def codes(longest: int) -> Reader:
    """Codes separated by spaces; one named twice counts once."""
    read_code = code(longest)

    def read(cell: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(read_code(each) for each in cell.split()))

    return read


def pieces(longest: int) -> Reader:
    """Texts separated by a bar between spaces."""
    read_text = text(longest)

    def read(cell: str) -> tuple[str, ...]:
        return tuple(read_text(piece) for piece in pieces_of(cell))

    return read


def class_codes(longest: int) -> Reader:
    """Codes of classes, which may hold spaces, separated by a bar between spaces."""
    read_code = code(longest)

    def read(cell: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(read_code(piece) for piece in pieces_of(cell)))

    return read


def whole(least: int, most: int = MOST) -> Reader:
    """A whole number; ``2.0``, which some programs write, is one."""
    mend = f"Write a whole number from {least}." if least > -MOST else "Write a whole number."

    def read(cell: str) -> int:
        parts = WHOLE.fullmatch(cell.replace(MINUS_SIGN, "-"))
        if parts is None:
            raise BadCell(f"{shown(cell)} is not a whole number.", mend)
        number = int(parts[1])
        if not least <= number <= most:
            raise BadCell(f"{shown(cell)} is too {'small' if number < least else 'large'}.", mend)
        return number

    return read


def number(fits: Callable[[float], bool], mend: str) -> Reader:
    """A number with a decimal point for which ``fits`` holds."""

    def read(cell: str) -> float:
        written = cell.replace(MINUS_SIGN, "-")
        if WITH_COMMA.fullmatch(written):
            raise BadCell(f"{shown(cell)} has a decimal comma.", "Write a decimal point.")
        value = float(written) if A_NUMBER.fullmatch(written) else math.nan
        if not math.isfinite(value):
            raise BadCell(f"{shown(cell)} is not a number.", mend)
        if not fits(value):
            raise BadCell(f"{shown(cell)} does not fit here.", mend)
        return value

    return read


def yes_or_no(cell: str) -> bool:
    """Yes or no; spreadsheets turn them into TRUE and FALSE."""
    if cell.casefold() in YES:
        return True
    if cell.casefold() in NO:
        return False
    raise BadCell(f"{shown(cell)} is neither yes nor no.", "Write yes or no.")


def one_of(words: Iterable[str], thing: str) -> Reader:
    """One of a few words, in capitals or not. ``thing`` is what each of them is."""
    known = {str(word): str(word) for word in words}
    listed = list(known)
    mend = f"Write {', '.join(listed[:-1])} or {listed[-1]}."

    def read(cell: str) -> str:
        word = known.get(cell.casefold())
        if word is None:
            raise BadCell(f"{shown(cell)} is not {thing}.", mend)
        return word

    return read
