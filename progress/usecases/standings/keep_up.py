"""Bring the stored standings up to date: those that changed, or everybody on a new day."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Min, QuerySet

from progress.models import Athlete, Standing
from progress.usecases.standings.basis import Ground, basis_of, ground_of
from progress.usecases.standings.work_out import work_out


@dataclass(frozen=True)
class Freshness:
    """How far the stored standings of current athletes are up to date.

    ``waiting``: athletes whose standing is missing or older than the records.
    ``on_day``: the oldest day that a standing is of; None where none was ever worked out.
    ``worked_out``: how many were worked out just now.
    """

    waiting: int
    on_day: date | None
    worked_out: int = 0


def bring_up_to_date(
    *, today: date, at_most: int | None = None, ground: Ground | None = None
) -> Freshness:
    """Work out every standing of a current athlete that is not as of ``today``.

    ``at_most``: where more than so many wait, nothing is worked out and the answer says how many.
    ``ground``: what ``ground_of`` said of ``today`` just now, for a caller who reads it anyway.
    Where none waits it asks three queries, or one. Safe to run as often as you like and side by
    side.
    """
    ground = ground or ground_of(today=today)
    waiting = _waiting(today, ground.digest)
    if not waiting:
        return Freshness(0, today)
    if at_most is not None and len(waiting) > at_most:
        return Freshness(len(waiting), _oldest_day(today))
    basis = basis_of(today=today, ground=ground)
    done = work_out(athletes=waiting, basis=basis, today=today)
    left = len(_waiting(today, basis.digest))
    return Freshness(left, _oldest_day(today) if left else today, done)


def _here(today: date) -> QuerySet[Athlete]:
    return Athlete.objects.here_on(today).order_by()


def _waiting(today: date, digest: str) -> list[int]:
    fresh = Standing.objects.fresh(on_day=today, basis=digest).order_by()
    return list(_here(today).exclude(pk__in=fresh.values("athlete")).values_list("pk", flat=True))


def _oldest_day(today: date) -> date | None:
    stored = Standing.objects.filter(athlete__in=_here(today))
    return stored.aggregate(first=Min("on_day"))["first"]
