"""A meeting makes itself the first time anything is stored for it."""

from collections.abc import Iterable
from datetime import date

from progress.models import GymClass, Meeting, RegisterEntry


def open_meeting(*, gym_class: GymClass, day: date) -> Meeting:
    """The meeting of the class on ``day``; a new one starts with everybody enrolled as here.

    Writing the default down matters later: a child without an entry is never taken to be away.
    """
    meeting, new = Meeting.objects.get_or_create(gym_class=gym_class, day=day)
    if new:
        RegisterEntry.objects.bulk_create(
            [RegisterEntry(meeting=meeting, athlete=a) for a in gym_class.athletes_on(day)],
            ignore_conflicts=True,
        )
    return meeting


def were_here(*, meeting: Meeting, athletes: Iterable[int]) -> None:
    """Who made an attempt (athlete keys) was here, whatever the register said or did not say."""
    RegisterEntry.objects.bulk_create(
        [RegisterEntry(meeting=meeting, athlete_id=key) for key in sorted(set(athletes))],
        update_conflicts=True,
        unique_fields=["meeting", "athlete"],
        update_fields=["present"],
    )
