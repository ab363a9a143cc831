"""Which weeks may still be planned."""

from collections.abc import Iterator
from datetime import date

from django.db.models import Q

from progress.models import Setup
from progress.usecases.floors.changes import WEEK, FloorRefused, monday_of, week_words

WEEKS_AHEAD = 12


def free_weeks(*, today: date) -> list[date]:
    """Mondays from this week on that have neither a setup nor a draft. One query."""
    this_week = monday_of(today)
    rows = (
        Setup.objects.filter(Q(week__gte=this_week) | Q(planned_for__gte=this_week))
        .order_by()
        .values_list("week", "planned_for")
    )
    taken = {day for row in rows for day in row}
    weeks = (this_week + number * WEEK for number in range(WEEKS_AHEAD + 1))
    return [week for week in weeks if week not in taken]


def next_free(weeks: list[date], *, today: date) -> date | None:
    """The first free week after this one, else this one; None where all are taken."""
    later: Iterator[date] = (week for week in weeks if week > today)
    return next(later, weeks[0] if weeks else None)


def refuse_taken(week: date, *, today: date) -> None:
    """Raise FloorRefused unless a new draft may be made for this week."""
    if week.weekday() != 0:
        raise FloorRefused(f"{week:%d %B %Y} is no Monday. Choose a week from the list.")
    if week < monday_of(today):
        raise FloorRefused(
            f"{week_words(week, start=True)} is past. Choose this week or a later one."
        )
    there = Setup.objects.filter(Q(week=week) | Q(planned_for=week)).order_by().first()
    if there is None:
        return
    if there.published:
        raise FloorRefused(
            f"{week_words(week, start=True)} has a published setup already. Open it to change it,"
            " or choose another week."
        )
    raise FloorRefused(
        f"{week_words(week, start=True)} has a draft already. Open that draft, or choose another"
        " week."
    )
