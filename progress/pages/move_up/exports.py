"""The board as a file: all rows that were asked for, in the order shown, in plain columns.

CSV is UTF-8 with a byte order mark, without which spreadsheets garble letters beyond English;
scripts read it as ``utf-8-sig``. A cell that a spreadsheet would run has an apostrophe in front, as
in the gym's other files. In the workbook every text is stored as text and needs none.
"""

import io
from collections.abc import Iterable
from typing import Any

import django_tables2 as tables
from django_tables2.export import TableExport
from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE, WriteOnlyCell
from tablib import Dataset

from progress.models import Athlete
from progress.pages.move_up.tables import why_of
from progress.pages.shared.words import DECISION_WORDS
from progress.usecases.folders.write import cell_of
from progress.usecases.see_board import (
    TOP,
    Board,
    class_names,
    holds_in_force,
    readiness_of,
)

FORMATS = (TableExport.CSV, TableExport.XLSX)
DIGITS = 4  # of a chance


def _plain(heading: str) -> tables.Column:
    """A column headed as in the gym's other files; what is not known is left empty."""
    return tables.Column(verbose_name=heading, default="")


class ExportTable(tables.Table):
    """One column for each thing the board says."""

    code = _plain("code")
    name = _plain("name")
    classes = _plain("class")
    age = _plain("age")
    tier = _plain("tier")
    next_tier = _plain("next_tier")
    decision = _plain("decision")
    chance = _plain("chance")
    holding_back = _plain("holding_back")
    holding_back_names = _plain("holding_back_names")
    why = _plain("why")
    last_checked = _plain("last_checked")
    days_since = _plain("days_since")
    on_hold = _plain("on_hold")
    as_of = _plain("as_of")

    class Meta:
        orderable = False


def export_rows(athletes: Iterable[Athlete], board: Board) -> list[dict[str, Any]]:
    """Rows of the table; days are ISO dates, a chance is a number from 0 to 1."""
    return [_row(athlete, board) for athlete in athletes]


def _row(athlete: Athlete, board: Board) -> dict[str, Any]:
    stored, age = getattr(athlete, "standing", None), athlete.age_on(board.today)
    last, on_day = (stored.last_checked, stored.on_day) if stored else (None, None)
    return {
        "code": athlete.code,
        "name": athlete.name,
        "classes": class_names(athlete),
        "age": None if age is None else int(age),
        "tier": athlete.tier_id,
        "last_checked": last.isoformat() if last else None,
        "days_since": (board.today - last).days if last else None,
        "on_hold": "yes" if holds_in_force(athlete) else "no",
        "as_of": on_day.isoformat() if on_day else None,
        **_answer(athlete, board),
    }


def _answer(athlete: Athlete, board: Board) -> dict[str, Any]:
    if vars(athlete)["says"] == TOP:
        return {"decision": "In the highest tier"}
    answer = readiness_of(athlete)
    if answer is None:
        return {"decision": "Not worked out yet"}
    names = (str(board.skills.get(code, code)) for code in answer.holding_back)
    return {
        "next_tier": answer.next_tier,
        "decision": DECISION_WORDS[answer.decision],
        "chance": round(answer.p_ready, DIGITS),
        "holding_back": " ".join(answer.holding_back),
        "holding_back_names": "; ".join(names),
        "why": why_of(answer),
    }


class BoardExport(TableExport):
    """Writes no cell that a spreadsheet would run."""

    dataset: Dataset

    def export(self) -> bytes:
        """The file's bytes."""
        return self._workbook() if self.format == self.XLSX else self._text()

    def _text(self) -> bytes:
        plain = Dataset(headers=self.dataset.headers)
        for row in self.dataset:
            plain.append([cell_of(value) for value in row])
        return str(plain.export("csv")).encode("utf-8-sig")

    def _workbook(self) -> bytes:
        book = Workbook(write_only=True)
        sheet = book.create_sheet("Board")
        sheet.freeze_panes = "A2"
        for row in (self.dataset.headers, *self.dataset):
            sheet.append([_cell(sheet, value) for value in row])
        file = io.BytesIO()
        book.save(file)
        return file.getvalue()


def _cell(sheet: Any, value: Any) -> WriteOnlyCell:
    """Numbers as numbers; text as text, also where it looks like a formula."""
    if not isinstance(value, str):
        return WriteOnlyCell(sheet, value)
    cell = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", value) or None)
    if cell.value is not None:
        cell.data_type = "s"
        cell.quotePrefix = cell.value[0] in "=+-@\t"
    return cell
