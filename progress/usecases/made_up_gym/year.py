"""The gym's year: three terms of weeks with holidays between, ending in the week of a given day."""

from dataclasses import dataclass
from datetime import date, timedelta

from progress.usecases.made_up_gym.scenario import ClassPlan

TERM_WEEKS = 12
TERMS = 3
HOLIDAY_WEEKS = (3, 2)  # before the second and before the third term


@dataclass(frozen=True)
class Year:
    """Teaching weeks by number, oldest first; the last one is the week of ``today``."""

    today: date
    mondays: tuple[date, ...]

    @property
    def first_day(self) -> date:
        """The Monday on which the records begin."""
        return self.mondays[0]

    @property
    def last_week(self) -> int:
        """Number of the week of ``today``."""
        return len(self.mondays) - 1

    def days(self, weeks: float) -> date:
        """The day so many weeks before today."""
        return self.today - timedelta(days=round(7 * weeks))


@dataclass(frozen=True)
class MeetingPlan:
    """One date of a class, in teaching week number ``week``."""

    day: date
    week: int


def year_up_to(today: date) -> Year:
    """Lay the terms out backwards from the week of ``today``."""
    monday = today - timedelta(days=today.weekday())
    mondays: list[date] = []
    for term in reversed(range(TERMS)):
        for _ in range(TERM_WEEKS):
            mondays.append(monday)
            monday -= timedelta(weeks=1)
        if term:
            monday -= timedelta(weeks=HOLIDAY_WEEKS[term - 1])
    return Year(today, tuple(reversed(mondays)))


def weekday_of(class_: ClassPlan, today: date) -> int:
    """The weekday a class meets on, Monday 0."""
    return (today - timedelta(days=class_.days_ago)).weekday()


def past_meetings(class_: ClassPlan, year: Year) -> tuple[MeetingPlan, ...]:
    """The class's dates in teaching weeks before today, oldest first."""
    offset = timedelta(days=weekday_of(class_, year.today))
    dates = ((monday + offset, week) for week, monday in enumerate(year.mondays))
    return tuple(MeetingPlan(day, week) for day, week in dates if day < year.today)


def weeks_into_term(week: int) -> int:
    """How many weeks of its term came before this teaching week."""
    return week % TERM_WEEKS
