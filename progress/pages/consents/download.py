"""Everything the gym keeps about a child, as one JSON file or as a ZIP of tables.

Both are written while they are read from the database, so a long log takes no more memory than a
short one, and neither is kept anywhere.
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, time
from typing import Any

from django.http import HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from progress.models import Athlete, Guardian
from progress.pages.consents.own_child import own_child
from progress.pages.shared.language import in_the_familys_language
from progress.usecases.families.export_child import ChildExport, Row, export_child
from progress.usecases.folders.write import cell_of

ABOUT = (
    "Everything the gym keeps about your child, as of the day it was made. Days are written"
    " YYYY-MM-DD, moments in ISO 8601. What coaches write for each other, and everything about"
    " other people, is left out: ask the programme lead if you have a question."
)
ROWS_AT_ONCE = 200


@in_the_familys_language
@never_cache
@own_child
@require_safe
def child_download(
    request: HttpRequest, *, guardian: Guardian, athlete: Athlete
) -> HttpResponseBase:
    """The file asked for: ``?as=json`` or ``?as=zip``; JSON where neither is named."""
    export = export_child(athlete=athlete, guardian=guardian, today=timezone.localdate())
    name = f"{slugify(athlete.code) or 'child'}-{export.made_on.isoformat()}"
    if request.GET.get("as") == "zip":
        return _file(zip_pieces(export), "application/zip", f"{name}.zip")
    return _file(json_pieces(export), "application/json", f"{name}.json")


def json_pieces(export: ChildExport) -> Iterator[bytes]:
    """The JSON file in pieces; the attempts come last and one to a line."""
    head = {"about": ABOUT, "made_on": export.made_on, "keys": export.keys, **export.tables}
    opened = json.dumps(head, ensure_ascii=False, indent=1, default=_plain)
    yield (opened.rstrip().removesuffix("}").rstrip() + ',\n "attempts": [').encode()
    between = "\n  "
    for rows in _in_pieces(export.attempts):
        lines = ",\n  ".join(json.dumps(r, ensure_ascii=False, default=_plain) for r in rows)
        yield (between + lines).encode()
        between = ",\n  "
    yield b"\n ]\n}\n"


class _Sink(io.RawIOBase):
    """A file that can only be written on; what was written is taken away piece by piece."""

    def __init__(self) -> None:
        self.pieces: list[bytes] = []

    def writable(self) -> bool:
        """It is."""
        return True

    def write(self, piece: Any) -> int:
        """Keep a piece until it is taken."""
        self.pieces.append(bytes(piece))
        return len(self.pieces[-1])

    def take(self) -> bytes:
        """What was written since the last time."""
        taken = b"".join(self.pieces)
        self.pieces.clear()
        return taken


def zip_pieces(export: ChildExport) -> Iterator[bytes]:
    """The ZIP in pieces: a table a file, and a text that says what the columns mean."""
    sink = _Sink()
    made = (*export.made_on.timetuple()[:3], 0, 0, 0)
    with zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as folder:
        folder.writestr(_entry("READ-ME.txt", made), read_me(export.keys))
        tables: dict[str, Iterable[Row]] = {**export.tables, "attempts": export.attempts}
        for name, rows in tables.items():
            with folder.open(_entry(f"{name}.csv", made), "w", force_zip64=True) as file:
                file.write(_line(export.keys[name]))
                for piece in _in_pieces(iter(rows)):
                    file.write(b"".join(_line(_cells(row)) for row in piece))
                    yield sink.take()
            yield sink.take()
    yield sink.take()


def read_me(keys: Mapping[str, Mapping[str, str]]) -> str:
    """What each file and column means."""
    lines = [ABOUT, "", "An apostrophe in front of =, +, - or @ keeps a spreadsheet from running"]
    lines.append("the cell; it is no part of the text.")
    for table, columns in keys.items():
        lines += ["", f"{table}.csv", *(f"  {name}: {what}" for name, what in columns.items())]
    return "\n".join(lines) + "\n"


def _file(pieces: Iterator[bytes], kind: str, name: str) -> StreamingHttpResponse:
    response = StreamingHttpResponse(pieces, content_type=kind)
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


def _entry(name: str, made: tuple[int, ...]) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, made)  # type: ignore[arg-type]
    entry.compress_type = zipfile.ZIP_DEFLATED
    return entry


def _cells(row: Row) -> list[str]:
    return [cell_of(value) for value in row.values()]


def _line(cells: Iterable[str]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue().encode()


def _in_pieces(rows: Iterator[Row]) -> Iterator[list[Row]]:
    piece: list[Row] = []
    for row in rows:
        piece.append(row)
        if len(piece) == ROWS_AT_ONCE:
            yield piece
            piece = []
    if piece:
        yield piece


def _plain(value: object) -> str:
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    raise TypeError(f"{value!r} has no form in the file.")
