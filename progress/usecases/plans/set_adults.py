"""A coach says how many adults are on the floor for one meeting."""

from datetime import date

from django.db import transaction

from progress.models import GymClass, Meeting, StaffMember
from progress.usecases.sheets.meetings import open_meeting
from progress.usecases.sheets.roles import may_record

MOST = 50


class AdultsRefused(ValueError):
    """The numbers cannot be stored; the message says why."""


@transaction.atomic
def set_adults(
    *,
    gym_class: GymClass,
    day: date,
    adults: int | None,
    spotters: int | None,
    coach: StaffMember,
    today: date,
) -> Meeting:
    """Store the adults on the floor, and how many of them may stand at stations of one loop.

    None leaves a number to what is usual for the class. Raises AdultsRefused.
    """
    if not may_record(coach):
        raise AdultsRefused("Only a coach or the lead may say who is on the floor.")
    if day < today:
        raise AdultsRefused("The plan of a day that is over stays as it was.")
    for word, number in (("adults", adults), ("adults at stations", spotters)):
        if number is not None and not 0 <= number <= MOST:
            raise AdultsRefused(f"Give the {word} as a number from 0 to {MOST}, not {number}.")
    if adults is not None and spotters is not None and spotters > adults:
        raise AdultsRefused(
            f"{spotters} adults at stations, but only {adults} on the floor: lower the first"
            " or raise the second."
        )
    meeting = open_meeting(gym_class=gym_class, day=day)
    meeting.adults, meeting.spotters = adults, spotters
    meeting.save(update_fields=["adults", "spotters"])
    return meeting
