"""One file of the folder read into rows; every cell that does not fit is noted."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any, NamedTuple

from progress.usecases.folders import records
from progress.usecases.folders.cells import WITH_COMMA, BadCell
from progress.usecases.folders.layout import Column, Layout, plain
from progress.usecases.folders.problems import Problems, shown, some_of
from progress.usecases.folders.texts import tidied, unescaped

COMMA, SEMICOLON, TAB = ",", ";", "\t"
# Most cells of a long file repeat (athletes, skills, results); their readings are kept, up to a
# number, because columns such as the time never repeat.
READINGS_KEPT = 5_000
QUOTE_COMMAS = "Put a cell that holds the separator between quotation marks."
FILL_IN = "Every row needs this column."
HEAD_EACH_ONCE = "Head each column once."


@dataclass
class Table:
    """A file of the folder.

    ``rows`` are the rows without a mistake. ``mentioned`` are the codes of rows with one, so that
    other files may name them. ``whole`` is false where rows are missing, ``all_named`` where even
    codes may be.
    """

    layout: Layout
    rows: list[Any] = field(default_factory=list)
    mentioned: set[str] = field(default_factory=set)
    whole: bool = True
    all_named: bool = True


class Head(NamedTuple):
    """Where the columns of a file are: (place in the file, place in the row, column)."""

    places: list[tuple[int, int, Column]]
    width: int
    usable: bool


class Form(NamedTuple):
    """How a file is written."""

    separator: str
    skip: int
    encoding: str


def read_table(layout: Layout, path: Path, problems: Problems, size_limit: int) -> Table:
    """Read one file, noting every problem; what was read is given back even so."""
    table = Table(layout)
    try:
        data = records.bytes_of(path, size_limit)
        encoding = "utf-8-sig"
        try:
            records.check_characters(data)
        except records.Unreadable as error:
            if b"\0" in data:
                raise
            # Read on as if it were what it seems to be, to list the other problems as well.
            problems.add(layout.file, error.line, None, error.what, error.mend)
            encoding = records.OLDER_WINDOWS
        read_rows(table, data, form_of(layout, data, encoding), problems)
    except records.Unreadable as error:
        problems.add(layout.file, error.line, None, error.what, error.mend)
        table.whole = table.all_named = False
    return table


def form_of(layout: Layout, data: bytes, encoding: str) -> Form:
    """Find the separator: the one that makes most known headings of the first line."""
    line, text = records.first_line(data)
    if not line:
        raise records.Unreadable(
            "is empty.", f"The first line names the columns: {','.join(layout.header)}"
        )
    # Some spreadsheets name the separator in a line of its own before the header.
    named = text.replace('"', "").casefold()
    if named.startswith("sep=") and named[4:] in (COMMA, SEMICOLON, TAB, ""):
        return Form(named[4:] or TAB, line, encoding)

    def known(separator: str) -> int:
        headings = text.replace('"', "").split(separator)
        return sum(plain(heading) in layout.by_heading for heading in headings)

    return Form(max((COMMA, SEMICOLON, TAB), key=known), 0, encoding)


def read_rows(table: Table, data: bytes, form: Form, problems: Problems) -> None:
    """Read the header and then every row into ``table``."""
    rows = records.records(data, form.separator, skip=form.skip, encoding=form.encoding)
    line, headings = next(rows, (form.skip + 1, []))
    head = read_head(table.layout, line, headings, problems)
    table.whole = head.usable
    reader = RowReader(table, head, form.separator, problems)
    for line, cells in rows:
        reader.read(line, cells)


def read_head(layout: Layout, line: int, headings: list[str], problems: Problems) -> Head:
    """Find the columns; a missing or doubled one is a problem, an unknown one only a remark."""
    found: dict[str, int] = {}
    strangers = []
    usable = True
    # Spreadsheets often leave empty columns behind at the right edge.
    while headings and not headings[-1].strip():
        headings = headings[:-1]
    for place, heading in enumerate(headings):
        column = layout.by_heading.get(plain(heading))
        if column is None:
            strangers.append(heading.strip() or "no heading")
        elif column.name in found:
            what = "two columns have this heading."
            problems.add(layout.file, line, column.name, what, HEAD_EACH_ONCE)
            usable = False
        else:
            found[column.name] = place
    for column in layout.columns:
        if column.required and column.name not in found:
            near = get_close_matches(column.name, strangers, n=1)
            what = "the column is missing" + (f" ({shown(near[0])} is there)." if near else ".")
            mend = f"The header needs at least {', '.join(required(layout))}."
            problems.add(layout.file, line, column.name, what, mend)
            usable = False
    note_strangers(layout, strangers, problems)
    places = [
        (found[column.name], slot, column)
        for slot, column in enumerate(layout.columns)
        if column.name in found
    ]
    return Head(places, len(headings), usable)


def required(layout: Layout) -> Iterator[str]:
    """The names of the columns every file of this layout has."""
    return (column.name for column in layout.columns if column.required)


def note_strangers(layout: Layout, strangers: list[str], problems: Problems) -> None:
    """Remark on columns that are not part of the format."""
    if strangers:
        problems.remarks.append(
            f"{layout.file}: left out, because not part of the format: column {some_of(strangers)}."
        )


class RowReader:
    """Reads rows of cells into a table."""

    def __init__(self, table: Table, head: Head, separator: str, problems: Problems) -> None:
        self.table = table
        self.head = head
        self.problems = problems
        self.decimal_comma = separator == SEMICOLON
        self.absent = [None] * len(table.layout.columns)
        self.readings: list[dict[str, Any]] = [{} for _ in table.layout.columns]
        names = table.layout.header
        named_by = table.layout.named_by
        self.name_slot = names.index(named_by) if named_by else None

    def read(self, line: int, cells: list[str]) -> None:
        """Read one row; a row with any mistake is not among the table's rows."""
        if not any(map(str.strip, cells)):
            return
        values: list[Any] = self.absent.copy()
        fits = self.fits(line, cells)
        for place, slot, column in self.head.places:
            # Spreadsheets leave out empty cells at the end of a row, so a short row is no mistake
            # unless a required column is among the missing ones.
            cell = cells[place] if place < len(cells) else ""
            known = self.readings[slot]
            if cell in known:
                values[slot] = known[cell]
                continue
            try:
                values[slot] = self.value(column, cell)
            except BadCell as error:
                file = self.table.layout.file
                self.problems.add(file, line, column.name, error.what, error.mend)
                fits = False
            else:
                if len(known) < READINGS_KEPT:
                    known[cell] = values[slot]
        if fits and self.head.usable:
            self.table.rows.append(self.table.layout.row(line, *values))
        else:
            self.spoil(values)

    def spoil(self, values: list[Any]) -> None:
        """Keep the code of a row that has a mistake, so that the mistake is told only once."""
        self.table.whole = False
        if self.name_slot is None:
            return
        if values[self.name_slot] is None:
            self.table.all_named = False
        else:
            self.table.mentioned.add(values[self.name_slot])

    def value(self, column: Column, cell: str) -> Any:
        """What the cell holds; raises BadCell."""
        written = unescaped(tidied(cell))
        if not written:
            if column.required:
                raise BadCell("the cell is empty.", FILL_IN)
            return column.blank
        if column.decimal and self.decimal_comma and WITH_COMMA.fullmatch(written):
            written = written.replace(",", ".")
        return column.read(written)

    def fits(self, line: int, cells: list[str]) -> bool:
        """Whether nothing is written beyond the last heading."""
        if not any(map(str.strip, cells[self.head.width :])):
            return True
        self.problems.add(
            self.table.layout.file,
            line,
            None,
            f"the row has {len(cells)} cells, the header has {self.head.width}.",
            QUOTE_COMMAS,
        )
        return False
