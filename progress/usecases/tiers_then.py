"""Which tier each athlete was in on an earlier day, from the sign-offs since."""

from collections.abc import Iterable
from datetime import date

from progress.models import Athlete, SignOff
from progress.usecases.engine_inputs import end_of


def tiers_then(*, athletes: Iterable[Athlete], day: date) -> tuple[int, ...]:
    """Each athlete's tier at the end of ``day``, in their order: one query.

    The first decision after that day left the tier the athlete was in. Without one it is today's.
    """
    later = SignOff.objects.standing().filter(decided_at__gte=end_of(day))
    left: dict[int, int] = {}
    for athlete, tier in later.order_by("decided_at", "pk").values_list("athlete_id", "from_tier"):
        left.setdefault(athlete, tier)
    return tuple(left.get(athlete.pk, athlete.tier_id) for athlete in athletes)
