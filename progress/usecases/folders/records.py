"""From the bytes of a file to its rows of cells, with the line each row begins on."""

import codecs
import csv
import io
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from progress.usecases.folders.problems import count, shown

SAVE_AS_UTF8 = "Save it again as CSV UTF-8 (in Excel: Save As, 'CSV UTF-8')."
CLOSE_THE_QUOTES = "Put a quotation mark at both ends of the cell and double those inside it."
# What bytes that are no UTF-8 most often are: text saved by older Windows programs.
OLDER_WINDOWS = "cp1252"

# Longer marks first: the mark of UTF-32 begins with that of UTF-16.
WIDE_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


class Unreadable(ValueError):
    """The file, or the rest of it from ``line`` on, cannot be read."""

    def __init__(self, what: str, mend: str, line: int | None = None) -> None:
        self.what = what
        self.mend = mend
        self.line = line
        super().__init__(what)


def bytes_of(path: Path, size_limit: int) -> bytes:
    """The whole file as UTF-8 bytes; refuses a file over ``size_limit`` bytes before reading it."""
    try:
        if not path.is_file():
            raise Unreadable("is not a file.", "Put a CSV file in its place.")
        size = path.stat().st_size
        if size > size_limit:
            raise too_large(size, size_limit)
        with path.open("rb") as file:
            data = file.read(size_limit + 1)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unreadable(
            f"cannot be read ({reason}).", "Check who may read the file, and that it is not open."
        ) from None
    if len(data) > size_limit:
        raise too_large(len(data), size_limit)
    return as_utf8(data)


def too_large(size: int, size_limit: int) -> Unreadable:
    """What to say of a file over the limit."""
    return Unreadable(
        f"is {size / 1e6:,.2f} MB long; files up to {size_limit / 1e6:,.2f} MB are read.",
        "Split it into several folders, or raise the limit.",
    )


def as_utf8(data: bytes) -> bytes:
    """UTF-16 and UTF-32 with a mark at the start turned into UTF-8; other bytes as they are."""
    for mark, encoding in WIDE_MARKS:
        if data.startswith(mark):
            try:
                return data.decode(encoding).encode("utf-8")
            except UnicodeDecodeError:
                raise Unreadable(
                    f"begins like {encoding.upper()} but is not that throughout.", SAVE_AS_UTF8
                ) from None
    return data


def check_characters(data: bytes) -> None:
    """Raise Unreadable, naming the first line, where bytes are not UTF-8 or are NUL."""
    if b"\0" in data:
        raise Unreadable(
            "holds NUL characters; it may be UTF-16 without its mark.",
            SAVE_AS_UTF8,
            line_at(data, data.index(b"\0")),
        )
    try:
        for piece in lines_of(data):
            codecs.utf_8_decode(piece, "strict", True)
    except UnicodeDecodeError:
        raise foreign_bytes(data) from None


def foreign_bytes(data: bytes) -> Unreadable:
    """Say where the first byte stands that is not UTF-8 and what it is on older Windows."""
    first, lines = None, 0
    for line, piece in enumerate(lines_of(data), start=1):
        try:
            piece.decode("utf-8")
        except UnicodeDecodeError as error:
            lines += 1
            first = first or (line, piece[error.start : error.start + 1])
    assert first is not None
    line, byte = first
    letter = shown(byte.decode(OLDER_WINDOWS, errors="replace"))
    return Unreadable(
        f"byte {byte.hex().upper()} is not UTF-8; on older Windows it is {letter}"
        f" ({count(lines, 'line')} in this file with such bytes).",
        SAVE_AS_UTF8,
        line,
    )


def lines_of(data: bytes) -> Iterator[bytes]:
    """The lines of UTF-8 or single-byte text, whichever way they end."""
    if b"\r" not in data.replace(b"\r\n", b""):
        yield from io.BytesIO(data)
    else:
        yield from data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")


def line_at(data: bytes, place: int) -> int:
    """The line, from 1, on which the byte at ``place`` stands."""
    before = data[:place]
    ends = before.count(b"\n") + before.count(b"\r") - before.count(b"\r\n")
    return ends + 1


def first_line(data: bytes) -> tuple[int, str]:
    """The first line with anything in its cells and its number; number 0 where there is none."""
    for line, text in enumerate(text_lines(data, "utf-8-sig"), start=1):
        if text.strip(' ,;\t\r\n"'):
            return line, text.strip()
    return 0, ""


def text_lines(data: bytes, encoding: str) -> io.TextIOWrapper:
    """The text line by line, line ends kept, so that a break inside a cell survives."""
    if encoding == OLDER_WINDOWS:
        data = data.removeprefix(codecs.BOM_UTF8)
    return io.TextIOWrapper(io.BytesIO(data), encoding=encoding, errors="replace", newline="")


def records(
    data: bytes, separator: str, *, skip: int = 0, encoding: str = "utf-8-sig"
) -> Iterator[tuple[int, list[str]]]:
    """Every row with anything in it, and the line it begins on; ``skip`` lines come before.

    Raises Unreadable at a broken quotation, because from there on the rows cannot be told apart.
    """
    lines = text_lines(data, encoding)
    rows = csv.reader(
        islice(lines, skip, None), delimiter=separator, skipinitialspace=True, strict=True
    )
    line = skip + 1
    try:
        for cells in rows:
            if cells and any(cells):
                yield line, cells
            line = skip + rows.line_num + 1
    except csv.Error as error:
        raise Unreadable(broken_quotation(str(error)), CLOSE_THE_QUOTES, line) from None


def broken_quotation(error: str) -> str:
    """The reader's complaint in plain words."""
    if "unexpected end" in error:
        return "a quotation mark is opened in this row and never closed."
    if "field limit" in error:
        return "a cell goes on for pages; a quotation mark may be missing."
    return "a quotation mark closes before its cell ends."
