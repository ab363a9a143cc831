"""What the sheet's template draws: columns, rows with their cells, the script's data."""

from dataclasses import dataclass
from typing import Any

from django.db.models import prefetch_related_objects
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from progress.models import LookFor, Skill, StaffMember
from progress.pages.checks.cells import CellPlace, draw_before, draw_today
from progress.pages.checks.forms import CheckSheet
from progress.pages.checks.symbols import PREFIX
from progress.pages.shared.shapes import AWAY, HERE, REFUSED, RESULTS
from progress.usecases.open_sheet import Sheet, SheetColumn, SheetRow


@dataclass(frozen=True)
class DrawnColumn:
    """A skill on the sheet, ``number`` from 0; ``done`` of the ``here`` have a try at it today."""

    column: SheetColumn
    number: int
    shown: bool
    look_fors: tuple[LookFor, ...]
    done: int
    here: int

    @property
    def skill(self) -> Skill:
        """The skill of the column."""
        return self.column.skill


@dataclass(frozen=True)
class DrawnRow:
    """One athlete's line of the sheet; ``cells`` are drawn."""

    row: SheetRow
    cells: SafeString


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
    rows = [_draw_row(sheet, row, form, chosen) for row in sheet.rows]
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
        number=place,
        shown=chosen in (None, column.skill),
        look_fors=tuple(column.skill.look_fors.all()),
        done=sum(bool(row.cells[place].tries) for row in here),
        here=len(here),
    )


def _draw_row(sheet: Sheet, row: SheetRow, form: CheckSheet, chosen: Skill | None) -> DrawnRow:
    drawn = []
    for number, cell in enumerate(row.cells):
        shown = chosen in (None, cell.skill)
        place = CellPlace(number, shown, f"a{row.athlete.pk} k{number}")
        marking = None
        if shown and not cell.held_back:
            marking = form.marking(row.athlete, cell.skill, short=chosen is None)
        drawn += [
            draw_before(cell, place),
            draw_today(cell, row, sheet.gym_class, place, marking),
        ]
    return DrawnRow(row, mark_safe("".join(drawn)))


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
        "sprite": f"#{PREFIX}",
        "columns": [
            {"code": column.skill.code, "name": str(column.skill)} for column in sheet.columns
        ],
        "results": {
            result.value: {"shape": mark.shape, "word": mark.word}
            for result, mark in RESULTS.items()
        },
        "marks": {
            "here": {"shape": HERE.shape, "word": HERE.word},
            "away": {"shape": AWAY.shape, "word": AWAY.word},
            "refused": {"shape": REFUSED.shape, "word": REFUSED.word},
        },
    }
