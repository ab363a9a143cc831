"""The programme lead asks: who looks ready to move up?"""

from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q

from progress.engine.answers import Readiness
from progress.engine.terms import Decision
from progress.models import Athlete, Enrolment, Hold
from progress.usecases.know_athletes import know_athletes

# How decisions sort wherever they are listed: those a lead can act on first.
ORDER = (Decision.READY, Decision.NEARLY, Decision.NEEDS_CHECKS, Decision.BUILDING)


@dataclass(frozen=True)
class MoveUpRow:
    """One athlete on the list; ``classes`` are the names of the classes they are in."""

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    classes: str
    age: float | None
    last_checked: date | None


def see_move_up(*, today: date) -> tuple[MoveUpRow, ...]:
    """Everybody in the programme: ready first, then the most likely."""
    running = Enrolment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=today), since__lte=today
    ).select_related("gym_class")
    athletes = list(
        Athlete.objects.filter(Q(left__isnull=True) | Q(left__gt=today))
        .select_related("tier")
        .prefetch_related(Prefetch("enrolments", running, to_attr="running"))
    )
    known = know_athletes(athletes=athletes, today=today)
    rows = [
        MoveUpRow(
            athlete=athlete,
            readiness=known.readiness[row],
            holds=known.holds.in_force(athlete),
            classes=", ".join(e.gym_class.name for e in athlete.running),
            age=athlete.age_on(today),
            last_checked=known.last_checked(row),
        )
        for row, athlete in enumerate(athletes)
    ]
    return tuple(
        sorted(rows, key=lambda row: (ORDER.index(row.readiness.decision), -row.readiness.p_ready))
    )
