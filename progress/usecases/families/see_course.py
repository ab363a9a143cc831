"""A parent looks back: how many skills coaches had seen to be steady by the end of each month."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from progress.engine.picture import picture
from progress.usecases.know_athletes import Known

MOST_MONTHS = 12  # shown
LOOKED_BACK = 24  # months that count, so that what was steady before the first point shows too


@dataclass(frozen=True)
class CoursePoint:
    """How many skills had been steady at the end of some month up to ``day``."""

    day: date
    skills: int


@dataclass(frozen=True)
class Course:
    """One child's course: month ends and today, oldest first; empty before the second month.

    The count never falls. A skill that was steady once stays counted: not looked at lately is not
    lost.
    """

    points: tuple[CoursePoint, ...]


def see_courses(known: Known) -> tuple[Course, ...]:
    """The courses of all athletes of ``known``, in their order; no query."""
    first = _first_days(known)
    began = min((day for day in first if day is not None), default=None)
    if began is None:
        return tuple(Course(()) for _ in first)
    days = _month_ends(began, date.fromordinal(known.picture.on_day))
    counts = _counts(known, days)
    return tuple(_course(days, counts[:, row], day) for row, day in enumerate(first))


def _course(
    days: Sequence[date], counts: "np.ndarray[tuple[int], np.dtype[np.int64]]", first: date | None
) -> Course:
    if first is None:
        return Course(())
    points = [CoursePoint(day, int(n)) for day, n in zip(days, counts, strict=True) if day >= first]
    shown = points[-MOST_MONTHS:]
    return Course(tuple(shown) if len(shown) > 1 else ())


def _counts(
    known: Known, days: Sequence[date]
) -> "np.ndarray[tuple[int, int], np.dtype[np.int64]]":
    """Skills steady on any of the days so far; shape (days, athletes)."""
    now = known.picture
    pauses = known.holds.stretches(known.athletes)
    ever = np.zeros(now.secure.shape, dtype=bool)
    counts = np.zeros((len(days), len(known.athletes)), dtype=np.int64)
    for place, day in enumerate(days):
        if day.toordinal() == now.on_day:
            then = now
        else:
            log = known.log.before(day.toordinal() + 1.0)
            then = picture(
                now.catalogue, now.athletes, log, now.parameters, now.rules, day.toordinal(), pauses
            )
        ever |= then.secure
        counts[place] = ever.sum(axis=1)
    return counts


def _first_days(known: Known) -> list[date | None]:
    """The day of each athlete's first attempt."""
    starts, day = known.log.starts(), known.log.day
    return [
        date.fromordinal(int(day[start])) if end > start else None
        for start, end in pairwise(starts)
    ]


def _month_ends(began: date, today: date) -> list[date]:
    """The last days of the months from ``began`` on, at most so many, and today."""
    days = [today]
    end = today.replace(day=1) - timedelta(days=1)
    while end >= began and len(days) < LOOKED_BACK:
        days.append(end)
        end = end.replace(day=1) - timedelta(days=1)
    return days[::-1]
