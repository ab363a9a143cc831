"""Which decision put each athlete where they are now."""

from collections.abc import Iterable

from progress.models import Athlete, SignOff


def latest_standing(athletes: Iterable[Athlete]) -> dict[int, SignOff]:
    """The latest decision that stands for each of these, by athlete key: one query."""
    rows = (
        SignOff.objects.standing()
        .filter(athlete__in=[athlete.pk for athlete in athletes])
        .select_related("athlete", "from_tier", "to_tier", "decided_by")
        .order_by("decided_at", "pk")
    )
    return {row.athlete_id: row for row in rows}
