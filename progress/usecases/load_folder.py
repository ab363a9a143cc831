"""Taking in a folder of CSV files: everything is checked first, and all is stored or nothing."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from django.db import DatabaseError, transaction
from django.db.models import Min

from progress.models import Athlete, Attempt, Skill, SkillNeed
from progress.usecases.folders.check_athletes import check_athletes
from progress.usecases.folders.check_attempts import Around, Numbered, check_attempts
from progress.usecases.folders.check_floor import check_floor
from progress.usecases.folders.check_skills import check_skills
from progress.usecases.folders.dates import venue_zone
from progress.usecases.folders.find import find_files
from progress.usecases.folders.floor_changes import FloorChange, floor_changes
from progress.usecases.folders.layout import (
    ATHLETES,
    ATTEMPTS,
    FILES,
    FLOOR,
    LAYOUTS,
    SKILLS,
)
from progress.usecases.folders.problems import Known, Problems
from progress.usecases.folders.rows import FloorRow
from progress.usecases.folders.store_athletes import store_athletes
from progress.usecases.folders.store_attempts import store_attempts
from progress.usecases.folders.store_floor import store_floor
from progress.usecases.folders.store_skills import store_skills
from progress.usecases.folders.stored_attempts import split_stored
from progress.usecases.folders.table import Table, read_table
from progress.usecases.folders.tally import Made, Tally
from progress.usecases.folders.variants import VariantIndex

SIZE_LIMIT = 100_000_000


@dataclass(frozen=True)
class Loaded:
    """What was stored, by file, and what a person should know although nothing is wrong."""

    files: dict[str, Tally]
    remarks: tuple[str, ...]


@dataclass
class Checked:
    """A folder that may be stored."""

    tables: dict[str, Table]
    floor: list[FloorChange]
    attempts: list[Numbered]
    stored_attempts: int
    first_days: dict[str, date]


def load_folder(*, folder: Path, now: datetime, size_limit: int = SIZE_LIMIT) -> Loaded:
    """Store what the CSV files in ``folder`` say; loading them again changes nothing.

    ``now`` is an aware moment: attempts after it are refused, and a new place in a class counts
    from its day where nothing else is known. Files over ``size_limit`` bytes are not read. Raises
    FolderRefused with every problem found; then nothing at all was stored.
    """
    problems = Problems()
    tables = read_tables(folder, problems, size_limit)
    checked = check(tables, now, problems)
    problems.raise_if_any(FILES)
    made = Made()
    try:
        with transaction.atomic():
            files = store(checked, now, made)
    except DatabaseError as error:
        # The checks are made before the records are locked, so somebody else may have stored
        # something in between that does not go with the folder.
        reason = str(error).partition("\n")[0]
        what = f"could not be stored ({reason})."
        problems.add(str(folder), None, None, what, "Nothing was changed. Load the folder again.")
        raise problems.refusal(FILES) from error
    return Loaded(files, (*problems.remarks, *made.remarks()))


def read_tables(folder: Path, problems: Problems, size_limit: int) -> dict[str, Table]:
    """The files of the folder by name; those that are not there have no rows."""
    tables = {layout.file: Table(layout) for layout in LAYOUTS}
    for layout, path in find_files(folder, problems):
        tables[layout.file] = read_table(layout, path, problems, size_limit)
    return tables


def check(tables: dict[str, Table], now: datetime, problems: Problems) -> Checked:
    """Check the files against each other and against the records."""
    today = now.astimezone(venue_zone()).date()
    athletes = {athlete.code: athlete for athlete in Athlete.objects.all()}
    skills = known(tables[SKILLS.file], Skill.objects.values_list("code", flat=True))
    links = SkillNeed.objects.values_list("skill__code", "need__code")
    check_skills(tables[SKILLS.file], skills, links, problems)
    first_days = first_stored_days() if tables[ATHLETES.file].rows else {}
    check_athletes(tables[ATHLETES.file], athletes, first_days, today, problems)
    weeks = check_floor(tables[FLOOR.file], skills, problems)
    floor = floor_changes(tables[FLOOR.file], weeks, problems)
    index = VariantIndex(floor)
    around = Around(
        athletes=known(tables[ATHLETES.file], athletes),
        skills=skills,
        variants=known(tables[FLOOR.file], index.places),
        index=index,
        birth_dates=birth_dates(athletes, tables[ATHLETES.file]),
        now=now,
    )
    attempts = check_attempts(tables[ATTEMPTS.file], around, problems)
    new, same = split_stored(attempts, problems)
    return Checked(tables, floor, new, len(same), earliest(first_days, new))


def store(checked: Checked, now: datetime, made: Made) -> dict[str, Tally]:
    """Store a checked folder, what is named before what names it."""
    rows = {file: table.rows for file, table in checked.tables.items()}
    today = now.astimezone(venue_zone()).date()
    skills = store_skills(rows[SKILLS.file], made)
    athletes = store_athletes(rows[ATHLETES.file], checked.first_days, today, made)
    store_floor(checked.floor, made)
    store_attempts(checked.attempts, now, made)
    return {
        SKILLS.file: skills,
        ATHLETES.file: athletes,
        ATTEMPTS.file: Tally(new=len(checked.attempts), same=checked.stored_attempts),
        FLOOR.file: floor_tally(rows[FLOOR.file], checked.floor),
    }


def known(table: Table, stored: Iterable[str]) -> Known:
    """The codes of a file and of the records together."""
    named_by = table.layout.named_by
    codes = {getattr(row, named_by) for row in table.rows} if named_by else set()
    return Known(codes.union(table.mentioned, stored), complete=table.all_named)


def birth_dates(athletes: dict[str, Athlete], table: Table) -> dict[str, date]:
    """Birth dates by athlete, as they will be stored."""
    born = {code: each.birth_date for code, each in athletes.items() if each.birth_date}
    return born | {row.athlete: row.birth_date for row in table.rows if row.birth_date}


def first_stored_days() -> dict[str, date]:
    """The day of each athlete's first stored attempt, on the gym's clock."""
    zone = venue_zone()
    firsts = Attempt.objects.order_by().values_list("athlete__code").annotate(first=Min("at"))
    return {code: first.astimezone(zone).date() for code, first in firsts}


def earliest(stored: dict[str, date], attempts: list[Numbered]) -> dict[str, date]:
    """The day of each athlete's first attempt, coming ones included."""
    firsts: dict[str, datetime] = {}
    for attempt in attempts:
        row = attempt.row
        if row.athlete not in firsts or row.at < firsts[row.athlete]:
            firsts[row.athlete] = row.at
    zone = venue_zone()
    coming = {code: at.astimezone(zone).date() for code, at in firsts.items()}
    return coming | {code: min(day, coming.get(code, day)) for code, day in stored.items()}


def floor_tally(rows: list[FloorRow], changes: list[FloorChange]) -> Tally:
    """The rows of each week, by what became of the week."""
    number = Counter(row.week for row in rows)
    return Tally(
        new=sum(number[each.plan.week] for each in changes if each.stored is None),
        same=sum(number[each.plan.week] for each in changes if each.same),
        updated=sum(number[each.plan.week] for each in changes if each.stored and not each.same),
    )
