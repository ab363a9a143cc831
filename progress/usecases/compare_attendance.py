"""How often athletes came in the last weeks, against the weeks before."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db.models import Exists, F, OuterRef, Q

from progress.engine.attention import DROP_BELOW, Attendance, attendance, fewer_by_luck
from progress.models import Athlete, Enrolment, RegisterEntry
from progress.usecases.engine_inputs import Holds

WINDOW_DAYS = 56  # each of the two windows: eight weeks
LEAST_MEETINGS = 4  # in each window; fewer cannot show a drop


@dataclass(frozen=True)
class Compared:
    """One athlete's two windows, and how likely luck alone would have put the athlete on the list.

    ``by_luck``: probability of being called dropped had nothing changed, at most DROP_BELOW.
    """

    found: Attendance
    by_luck: float


def compare_attendance(
    *, athletes: Sequence[Athlete], holds: Holds, until: date
) -> Mapping[str, Compared]:
    """Compare the two windows that end with ``until``, by athlete code: one query.

    A meeting counts where the register has the athlete, enrolled in that class on the day and not
    on hold as a whole. Who has too few such meetings in either window is left out.
    """
    middle = until - timedelta(days=WINDOW_DAYS)
    counts = {athlete.pk: np.zeros(4, dtype=np.int64) for athlete in athletes}
    for key, day, came in _entries(athletes, until):
        if key in counts and not _on_hold(holds, key, day):
            later = 2 * (day > middle)
            counts[key][later : later + 2] += (came, 1)
    chosen = [one for one in athletes if counts[one.pk][[1, 3]].min() >= LEAST_MEETINGS]
    if not chosen:
        return {}
    columns = np.array([counts[one.pk] for one in chosen]).T
    found = attendance([one.code for one in chosen], *columns)
    return {one.athlete: Compared(one, called_by_luck(one)) for one in found}


def _entries(athletes: Sequence[Athlete], until: date) -> Iterable[tuple[int, date, bool]]:
    """Athlete key, day and whether they came, from registers of classes they were enrolled in."""
    enrolled = Enrolment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=OuterRef("meeting__day")),
        athlete=OuterRef("athlete"),
        gym_class=OuterRef("meeting__gym_class"),
        since__lte=OuterRef("meeting__day"),
    )
    rows = RegisterEntry.objects.filter(
        Exists(enrolled),
        meeting__day__gt=until - timedelta(days=2 * WINDOW_DAYS),
        meeting__day__lte=until,
    )
    if len(athletes) < 500:
        rows = rows.filter(athlete__in=[athlete.pk for athlete in athletes])
    return rows.order_by().values_list("athlete_id", F("meeting__day"), "present")


def _on_hold(holds: Holds, key: int, day: date) -> bool:
    """Whether a hold on everything was in force; with one on some ladders a child still comes."""
    return any(
        hold.starts <= day and (hold.lifted is None or hold.lifted > day)
        for hold in holds.by_athlete.get(key, ())
        if not hold.ladders.all()
    )


def called_by_luck(found: Attendance, cut: float = DROP_BELOW) -> float:
    """Chance that somebody who came as often in all would be called dropped by luck alone.

    Of all ways to deal the times the athlete came over both windows, those whose p is below
    ``cut``: as counts are whole, that is less than the cut itself, often far less.
    """
    came = found.came_before + found.came_now
    fewest = max(0, came - found.held_before)
    now = np.arange(fewest, min(came, found.held_now) + 1)
    before, now_held = np.full_like(now, found.held_before), np.full_like(now, found.held_now)
    p = fewer_by_luck(came - now, before, now, now_held)
    return float(np.max(p[p < cut], initial=0.0))
