"""Whether the dates of athletes.csv can be: each child once, born before joining and trying."""

from collections.abc import Mapping
from datetime import date

from progress.models import Athlete
from progress.usecases.folders.layout import ATHLETES
from progress.usecases.folders.problems import Problems, shown
from progress.usecases.folders.rows import AthleteRow
from progress.usecases.folders.table import Table

ONE_ROW_AN_ATHLETE = "Give each athlete one row; several classes go in one cell: tue | thu."
CORRECT_THE_BIRTH_DATE = "Correct the birth date; the first of the month is exact enough."
CORRECT_ONE_DATE = "Correct one of the two dates."


def check_athletes(
    table: Table,
    stored: Mapping[str, Athlete],
    first_days: Mapping[str, date],
    today: date,
    problems: Problems,
) -> None:
    """Note doubled athletes and dates that contradict each other.

    ``stored`` are the athletes of the records by code; ``first_days`` says on which day each of
    them made the first stored attempt.
    """
    lines: dict[str, int] = {}
    for row in table.rows:
        if row.athlete in lines:
            what = f"{shown(row.athlete)} has a row already, on line {lines[row.athlete]}."
            problems.add(ATHLETES.file, row.line, "athlete", what, ONE_ROW_AN_ATHLETE)
            continue
        lines[row.athlete] = row.line
        check_dates(row, stored.get(row.athlete), problems)
        check_birth(row, first_days.get(row.athlete), today, problems)


def check_birth(row: AthleteRow, first_day: date | None, today: date, problems: Problems) -> None:
    """Note a birth date that is still to come or after an attempt."""
    if row.birth_date is None:
        return
    if row.birth_date > today:
        what = f"{row.birth_date} is still to come."
    elif first_day is not None and row.birth_date > first_day:
        what = f"{row.birth_date} is after an attempt stored for {first_day}."
    else:
        return
    problems.add(ATHLETES.file, row.line, "birth_date", what, CORRECT_THE_BIRTH_DATE)


def check_dates(row: AthleteRow, stored: Athlete | None, problems: Problems) -> None:
    """Note a joining day before the birth or after the leaving, stored dates included."""
    if row.joined is None and row.birth_date is None:
        return
    joined = row.joined or (stored and stored.joined)
    born = row.birth_date or (stored and stored.birth_date)
    left = stored and stored.left
    if joined and born and joined < born:
        what = f"joined on {joined}, before the birth date {born}."
        problems.add(ATHLETES.file, row.line, "joined", what, CORRECT_ONE_DATE)
    if joined and left and joined > left:
        what = f"joined on {joined}, after the stored day of leaving, {left}."
        problems.add(ATHLETES.file, row.line, "joined", what, CORRECT_ONE_DATE)
