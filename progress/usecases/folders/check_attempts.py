"""Whether each row of attempts.csv can have happened, and which of them are new."""

import uuid
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import NamedTuple

from progress.usecases.folders.dates import midday, venue_zone
from progress.usecases.folders.layout import ATTEMPTS
from progress.usecases.folders.problems import Known, Problems, shown
from progress.usecases.folders.rows import AttemptRow
from progress.usecases.folders.table import Table
from progress.usecases.folders.variants import Place, VariantIndex

# The root of the ids made for rows without one. It never changes: the same row must get the same
# id for good, or loading a file again would store its attempts twice.
ROOT = uuid.UUID("b6a3d1c2-54a1-5f0e-9a77-0c1d8f6e2b94")

ADD_THE_ATHLETE = "Write the code of an athlete in athletes.csv or one already stored."
ADD_THE_SKILL = "Write the code of a skill in skills.csv or one already stored."
ADD_THE_VARIANT = "Write the code of a variant in floor.csv or one already stored, or nothing."
ONLY_WHAT_WAS = "Write when the attempt was made; one to come has no result yet."
CORRECT_EITHER = "Correct the time here or the birth date of the athlete."
ONE_ID_EACH = "Give each attempt an id of its own, or leave the id empty."


class Numbered(NamedTuple):
    """An attempt of the file with its id and the variant it was made on."""

    uid: str
    row: AttemptRow
    place: Place | None


@dataclass
class Around:
    """What an attempt may name, and what it must fit with."""

    athletes: Known
    skills: Known
    variants: Known
    index: VariantIndex
    birth_dates: Mapping[str, date]
    now: datetime


def check_attempts(table: Table, around: Around, problems: Problems) -> list[Numbered]:
    """Note attempts that cannot be; return the others, each with its id."""
    check = AttemptCheck(around, problems)
    check_ids(table, problems)
    return [Numbered(uid, row, check.place(row)) for uid, row in numbered(table) if check.fits(row)]


def check_ids(table: Table, problems: Problems) -> None:
    """Note ids that come twice."""
    lines: dict[str, int] = {}
    for row in table.rows:
        if row.uid is None:
            continue
        first = lines.setdefault(row.uid, row.line)
        if first != row.line:
            what = f"{shown(row.uid)} is the id of line {first} already."
            problems.add(ATTEMPTS.file, row.line, "id", what, ONE_ID_EACH)


def numbered(table: Table) -> Iterator[tuple[str, AttemptRow]]:
    """Rows with their id, or one made from what the row says.

    Rows that say the same are told apart by a running number, so two equal attempts on one day
    are stored as two, and storing the file again adds none.
    """
    taken = {row.uid for row in table.rows if row.uid is not None}
    alike: Counter[str] = Counter()
    for row in table.rows:
        if row.uid is not None:
            yield row.uid, row
            continue
        said = said_by(row)
        while (uid := str(uuid.uuid5(ROOT, f"{said}\x1f{alike[said]}"))) in taken:
            alike[said] += 1
        alike[said] += 1
        yield uid, row


def said_by(row: AttemptRow) -> str:
    """What makes two rows without an id the same attempt."""
    at = row.at.astimezone(UTC).isoformat()
    parts = (row.athlete, row.skill, at, row.result, row.coach or "", row.variant or "")
    return "\x1f".join(parts)


class AttemptCheck:
    """Checks single attempts."""

    def __init__(self, around: Around, problems: Problems) -> None:
        self.around = around
        self.problems = problems
        self.zone = venue_zone()
        # An attempt of today without a time stands at midday, which may be later than now.
        self.todays_midday = midday(around.now.astimezone(self.zone).date())

    def note(self, row: AttemptRow, column: str, what: str, mend: str) -> bool:
        """Note a problem; says False for the caller to pass on."""
        self.problems.add(ATTEMPTS.file, row.line, column, what, mend)
        return False

    def fits(self, row: AttemptRow) -> bool:
        """Whether the attempt names what is known and was made between birth and now."""
        # No short cut: each of the checks may note something.
        return all([self.known(row), self.in_time(row)])

    def known(self, row: AttemptRow) -> bool:
        """Whether athlete, skill and variant are known."""
        fits = True
        around = self.around
        if around.athletes.strange(row.athlete):
            what = f"{shown(row.athlete)} is not an athlete{around.athletes.hint(row.athlete)}."
            fits = self.note(row, "athlete", what, ADD_THE_ATHLETE)
        if around.skills.strange(row.skill):
            what = f"{shown(row.skill)} is not a skill{around.skills.hint(row.skill)}."
            fits = self.note(row, "skill", what, ADD_THE_SKILL)
        if row.variant is not None and around.variants.strange(row.variant):
            what = f"{shown(row.variant)} is not a variant{around.variants.hint(row.variant)}."
            fits = self.note(row, "variant", what, ADD_THE_VARIANT)
        return fits

    def in_time(self, row: AttemptRow) -> bool:
        """Whether the attempt lies between the athlete's birth and now."""
        if row.at > self.around.now and row.at != self.todays_midday:
            there = row.at.astimezone(self.zone)
            what = f"{there:%Y-%m-%d %H:%M} on the gym's clock is still to come."
            return self.note(row, "at", what, ONLY_WHAT_WAS)
        born = self.around.birth_dates.get(row.athlete)
        if born is not None and self.day(row) < born:
            what = f"{self.day(row)} is before the birth date of {shown(row.athlete)}, {born}."
            return self.note(row, "at", what, CORRECT_EITHER)
        return True

    def place(self, row: AttemptRow) -> Place | None:
        """The variant the attempt was made on."""
        if row.variant is None or row.variant not in self.around.index.places:
            return None
        return self.around.index.find(row.variant, row.skill, self.day(row))

    def day(self, row: AttemptRow) -> date:
        """The day of the attempt on the gym's clock."""
        return row.at.astimezone(self.zone).date()
