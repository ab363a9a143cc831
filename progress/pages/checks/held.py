"""Which skills a hold covers."""

from collections.abc import Iterable

from progress.models import Hold, Skill


def held_back(holds: Iterable[Hold], skill: Skill) -> bool:
    """Whether one of these holds covers the skill: a hold that names no ladder covers them all."""
    stops = ({ladder.pk for ladder in hold.ladders.all()} for hold in holds)
    return any(not stop or skill.ladder_id in stop for stop in stops)
