"""Text on its way into a cell and out of it again."""

import re

# A spreadsheet runs a cell that begins with one of these; the wide forms count in some languages.
# See "CSV Injection" in the OWASP community pages.
FORMULA_STARTS = "=+\\-@＝＋－＠"
RUNS_IN_A_SPREADSHEET = re.compile(f"'*[{FORMULA_STARTS}]")
WAS_ESCAPED = re.compile(f"'+[{FORMULA_STARTS}]")
BETWEEN_PIECES = re.compile(r"(?<=\s)\|(?=\s)")


def tidied(text: str) -> str:
    """``text`` without space around it and with one kind of line end: its form in a file.

    A NUL cannot be stored in every database, so it never goes into a file either.
    """
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if "\0" in text:
        text = text.replace("\0", "")
    return text.strip()


def escaped(text: str) -> str:
    """``text`` so that no spreadsheet takes it for a formula: an apostrophe goes in front.

    Text that already looks escaped gets one apostrophe more, so that ``unescaped`` always gives
    back exactly what was stored.
    """
    return "'" + text if RUNS_IN_A_SPREADSHEET.match(text) else text


def unescaped(cell: str) -> str:
    """What ``escaped`` was given."""
    return cell[1:] if WAS_ESCAPED.match(cell) else cell


def joined(pieces: list[str]) -> str:
    """Several texts in one cell."""
    return " | ".join(pieces)


def pieces_of(cell: str) -> tuple[str, ...]:
    """The texts in a cell that may hold several, separated by a bar with space on both sides."""
    pieces = (piece.strip() for piece in BETWEEN_PIECES.split(cell.strip()))
    return tuple(piece for piece in pieces if piece)
