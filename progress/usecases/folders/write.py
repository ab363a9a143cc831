"""Writing a file of the folder, and checking that it could be read again."""

import csv
import os
import tempfile
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

from progress.usecases.folders.cells import BadCell
from progress.usecases.folders.layout import Layout
from progress.usecases.folders.problems import Problems
from progress.usecases.folders.texts import escaped, tidied, unescaped

MEND_LATER = "Mend it before the files are loaded again."
CELLS_REMEMBERED = 50_000


def cell_of(value: Any) -> str:
    """A value as it is written: yes and no, shortest numbers, days year first, no formulas."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, date):
        return value.isoformat()
    return escaped(tidied(value)) if isinstance(value, str) else str(value)


class Writer:
    """Writes one file into a folder under a passing name, to be put in place when all is well."""

    def __init__(self, layout: Layout, folder: Path, problems: Problems) -> None:
        self.layout = layout
        self.target = folder / layout.file
        self.problems = problems
        self.rows = 0
        self.seen: set[tuple[int, str]] = set()
        # The files name children, so they are made readable for their owner alone.
        descriptor, name = tempfile.mkstemp(prefix=".saving-", dir=folder)
        os.close(descriptor)
        self.passing = Path(name)

    def write(self, lines: Iterable[list[Any]]) -> None:
        """Write the header and these lines."""
        with self.passing.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(self.layout.header)
            line = 2
            for values in lines:
                cells = [cell_of(value) for value in values]
                self.check(line, cells)
                writer.writerow(cells)
                self.rows += 1
                line += 1 + sum(cell.count("\n") for cell in cells)

    def check(self, line: int, cells: list[str]) -> None:
        """Note cells that loading would refuse, such as the code of a skill with a space in it.

        The file is written even so: a copy with a flaw is better than none.
        """
        for slot, (column, cell) in enumerate(zip(self.layout.columns, cells, strict=True)):
            if not cell or (slot, cell) in self.seen:
                continue
            try:
                column.read(unescaped(cell))
            except BadCell as error:
                self.problems.add(self.layout.file, line, column.name, error.what, MEND_LATER)
            if len(self.seen) < CELLS_REMEMBERED:
                self.seen.add((slot, cell))

    def place(self) -> None:
        """Put the file in its place, over one that is there."""
        os.replace(self.passing, self.target)

    def clear(self) -> None:
        """Take the passing file away, if it is still there."""
        self.passing.unlink(missing_ok=True)
