"""Days, moments and weeks as people and programs write them, year first."""

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings

from progress.usecases.folders.cells import BadCell
from progress.usecases.folders.problems import shown

DAY = r"(?:\d{4}-\d{2}-\d{2}|\d{8}|\d{4}-?W\d{2}-?[1-7])"
CLOCK = r"(?:\d{2}(?::\d{2}(?::\d{2}(?:[.,]\d+)?)?)?|\d{4}(?:\d{2}(?:[.,]\d+)?)?)"
OFFSET = r"(?:Z|[+-]\d{2}(?::?\d{2})?)"
ONLY_A_DAY = re.compile(f"{DAY}(?:[T ]00:00(?::00(?:\\.0+)?)?)?", re.ASCII)
A_MOMENT = re.compile(f"({DAY})(?:[Tt ]({CLOCK}) ?({OFFSET})?)?", re.ASCII | re.IGNORECASE)
A_WEEK = re.compile(r"(\d{4})-?W(\d{1,2})", re.ASCII | re.IGNORECASE)
DAY_OR_MONTH_FIRST = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})(?!\d)", re.ASCII)

# Outside these years a date is a slip, and far outside them the zone arithmetic ends.
FIRST_YEAR, LAST_YEAR = 1900, 2200

WRITE_A_DAY = "Write year-month-day, such as 2026-04-03."
WRITE_A_MOMENT = "Write 2026-04-03T17:30, or 2026-04-03 where only the day is known."
WRITE_A_WEEK = "Write any day of the week, such as 2026-02-09, or the week as 2026-W07."
WRITE_THE_OFFSET = "Write the time with its distance from UTC, such as 2026-03-29T01:30+00:00."


def venue_zone() -> ZoneInfo:
    """The zone of the gym's own clock."""
    return ZoneInfo(settings.TIME_ZONE)


def midday(day: date) -> datetime:
    """Midday of ``day`` on the gym's clock, as a moment in UTC: where only the day is known."""
    return datetime.combine(day, time(12), venue_zone()).astimezone(UTC)


def day_of(cell: str) -> date:
    """A day; a midnight that a program added to it does no harm."""
    if not ONLY_A_DAY.fullmatch(cell):
        raise not_a_date(cell, WRITE_A_DAY)
    return likely_day(cell.split("T")[0].split(" ")[0], cell, WRITE_A_DAY)


def week_of(cell: str) -> date:
    """The Monday of a week, given as any of its days or by its ISO number."""
    numbered = A_WEEK.fullmatch(cell)
    if numbered is None:
        if not ONLY_A_DAY.fullmatch(cell):
            raise not_a_date(cell, WRITE_A_WEEK)
        day = likely_day(cell.split("T")[0].split(" ")[0], cell, WRITE_A_WEEK)
        return day - timedelta(days=day.weekday())
    year, week = int(numbered[1]), int(numbered[2])
    try:
        return date.fromisocalendar(year, week, 1)
    except ValueError:
        raise BadCell(f"{shown(cell)} is not a week of that year.", WRITE_A_WEEK) from None


def moment_of(cell: str) -> datetime:
    """A moment in UTC.

    Without an offset it is on the gym's clock; an hour that comes twice when the clocks go back
    is taken as the first. A day without a time is its midday.
    """
    parts = A_MOMENT.fullmatch(cell)
    if parts is None:
        raise not_a_date(cell, WRITE_A_MOMENT)
    day, clock, offset = parts.groups()
    if clock is None:
        return midday(likely_day(day, cell, WRITE_A_MOMENT))
    likely_day(day, cell, WRITE_A_MOMENT)
    try:
        moment = datetime.fromisoformat(f"{day.upper()}T{clock}{(offset or '').upper()}")
    except ValueError:
        raise BadCell(f"{shown(cell)} is not a time of day.", WRITE_A_MOMENT) from None
    return on_the_gyms_clock(moment, cell) if moment.tzinfo is None else moment.astimezone(UTC)


def on_the_gyms_clock(moment: datetime, cell: str) -> datetime:
    """UTC of what the gym's clock showed; refuses the hour it never showed."""
    there = moment.replace(tzinfo=venue_zone())
    in_utc = there.astimezone(UTC)
    if in_utc.astimezone(there.tzinfo).replace(tzinfo=None) != moment:
        raise BadCell(
            f"{shown(cell)} never was: the clocks skipped that hour in {settings.TIME_ZONE}.",
            WRITE_THE_OFFSET,
        )
    return in_utc


def likely_day(text: str, cell: str, mend: str) -> date:
    """The day, if the calendar has it and it is of our time."""
    try:
        day = date.fromisoformat(text.upper())
    except ValueError:
        raise BadCell(f"{shown(cell)} is not a day of the calendar.", mend) from None
    if not FIRST_YEAR <= day.year < LAST_YEAR:
        raise BadCell(f"{shown(cell)} is not a likely year.", mend)
    return day


def not_a_date(cell: str, mend: str) -> BadCell:
    """What to say of a cell that is no date; a day-or-month-first date gets its two readings."""
    parts = DAY_OR_MONTH_FIRST.match(cell)
    if parts is None:
        return BadCell(f"{shown(cell)} is not a date.", mend)
    first, second = int(parts[1]), int(parts[2])
    if first != second and max(first, second) <= 12:
        return BadCell(f"{shown(cell)} can be read as two different days.", mend)
    return BadCell(f"{shown(cell)} does not have the year first.", mend)
