"""What the sheet's template draws: columns, rows with their cells, the script's data."""

from dataclasses import dataclass
from typing import Any

from django.db.models import prefetch_related_objects
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone

from progress.models import LookFor, Skill, StaffMember
from progress.pages.checks.forms import CheckSheet, Marking
from progress.pages.shared.shapes import AWAY, HERE, REFUSED, RESULTS
from progress.usecases.open_sheet import Sheet, SheetCell, SheetColumn, SheetRow


@dataclass(frozen=True)
class DrawnColumn:
    """A skill on the sheet; ``done`` of the ``here`` athletes have a try at it today."""

    column: SheetColumn
    shown: bool
    look_fors: tuple[LookFor, ...]
    done: int
    here: int

    @property
    def skill(self) -> Skill:
        """The skill of the column."""
        return self.column.skill


@dataclass(frozen=True)
class DrawnCell:
    """A cell; ``marking`` is None where nothing can be marked without JavaScript."""

    cell: SheetCell
    shown: bool
    marking: Marking | None


@dataclass(frozen=True)
class DrawnRow:
    """One athlete's line of the sheet."""

    row: SheetRow
    cells: tuple[DrawnCell, ...]


@dataclass(frozen=True)
class DrawnSheet:
    """The sheet as it stands on the page; ``chosen`` is None when all skills are shown at once."""

    sheet: Sheet
    chosen: Skill | None
    columns: tuple[DrawnColumn, ...]
    here: tuple[DrawnRow, ...]
    away: tuple[DrawnRow, ...]


def draw_sheet(sheet: Sheet, form: CheckSheet, chosen: Skill | None) -> DrawnSheet:
    """Lay the sheet out: one skill at a time, or all of them where ``chosen`` is None."""
    skills = [column.skill for column in sheet.columns]
    prefetch_related_objects(skills, "look_fors")
    rows = [_draw_row(row, form, chosen) for row in sheet.rows]
    return DrawnSheet(
        sheet=sheet,
        chosen=chosen,
        columns=tuple(
            _draw_column(sheet, place, chosen) for place, column in enumerate(sheet.columns)
        ),
        here=tuple(row for row in rows if row.row.present),
        away=tuple(row for row in rows if not row.row.present),
    )


def skill_in_view(sheet: Sheet, code: str | None) -> Skill | None:
    """The skill with this code if it is on the sheet, otherwise the first one."""
    skills = [column.skill for column in sheet.columns]
    return next((s for s in skills if s.code == code), skills[0] if skills else None)


def _draw_column(sheet: Sheet, place: int, chosen: Skill | None) -> DrawnColumn:
    column = sheet.columns[place]
    here = [row for row in sheet.rows if row.present]
    return DrawnColumn(
        column=column,
        shown=chosen in (None, column.skill),
        look_fors=tuple(column.skill.look_fors.all()),
        done=sum(bool(row.cells[place].tries) for row in here),
        here=len(here),
    )


def _draw_row(row: SheetRow, form: CheckSheet, chosen: Skill | None) -> DrawnRow:
    cells = []
    for cell in row.cells:
        shown = chosen in (None, cell.skill)
        marking = form.marking(row.athlete, cell.skill) if shown and not cell.held_back else None
        cells.append(DrawnCell(cell, shown, marking))
    return DrawnRow(row, tuple(cells))


def data_for_script(sheet: Sheet, coach: StaffMember) -> dict[str, Any]:
    """What the sheet's script has to know, as plain JSON values."""
    code = sheet.gym_class.code
    return {
        "classCode": code,
        "coach": coach.code,
        "day": sheet.day.isoformat(),
        "renderedAt": timezone.now().isoformat(),
        "sendUrl": reverse("send_checks", args=[code]),
        "tokenUrl": reverse("sheet_token"),
        "registerUrl": reverse("sheet_register", args=[code]),
        "summaryUrl": reverse("sheet_summary", args=[code]),
        "signInUrl": reverse("account_login"),
        "sprite": static("progress/shapes.svg"),
        "results": {
            result.value: {"shape": mark.shape, "word": mark.word}
            for result, mark in RESULTS.items()
        },
        "marks": {
            "here": {"shape": HERE.shape, "word": HERE.word},
            "away": {"shape": AWAY.shape, "word": AWAY.word},
            "refused": {"shape": REFUSED.shape, "word": REFUSED.word},
        },
        "tries": [
            {
                "uid": attempt.uid,
                "athlete": row.athlete.code,
                "skill": cell.skill.code,
                "result": attempt.result,
            }
            for row in sheet.rows
            for cell in row.cells
            for attempt in cell.tries
        ],
    }
