"""A coach asks for gentler or bolder practice, for a class or for one child."""

from progress.models import Athlete, Challenge, GymClass, StaffMember
from progress.usecases.sheets.roles import may_record


class ChallengeRefused(ValueError):
    """It cannot be stored; the message says why."""


def set_challenge(*, of: GymClass | Athlete, challenge: str, coach: StaffMember) -> None:
    """Store how bold practice should be, until somebody changes it. Raises ChallengeRefused.

    What is asked for a child goes before what is asked for the class. It moves only the chance
    that variants are chosen by; needs, heights, ages and holds stay as they are.
    """
    if not may_record(coach):
        raise ChallengeRefused("Only a coach or the lead may say how bold practice should be.")
    if challenge not in Challenge.values:
        raise ChallengeRefused("Choose gentler, as usual or bolder.")
    of.challenge = challenge
    of.save(update_fields=["challenge"])
