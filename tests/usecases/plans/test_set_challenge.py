"""Gentler or bolder practice, for a class or for a child."""

import pytest

from progress.models import Athlete, Challenge, GymClass, Setup, StaffMember
from progress.usecases.plans.set_challenge import ChallengeRefused, set_challenge
from progress.usecases.see_class import see_class
from tests import makers

pytestmark = pytest.mark.django_db


def targets(gym_class: GymClass) -> list[tuple[float, float] | None]:
    """What the engine aims for, in the order of the class."""
    gym_class.refresh_from_db()
    tonight = see_class(gym_class=gym_class, today=makers.TODAY)
    return [athlete.target for athlete in tonight.known.picture.athletes]


def test_a_class_practises_bolder_and_a_childs_own_wish_goes_before(
    monday_class: GymClass, floor: Setup, bo: Athlete, coach: StaffMember, lead: StaffMember
) -> None:
    assert targets(monday_class) == [None, None]

    set_challenge(of=monday_class, challenge=Challenge.BOLDER, coach=coach)
    set_challenge(of=bo, challenge=Challenge.GENTLER, coach=lead)

    ada, his = targets(monday_class)
    assert ada is not None
    assert his is not None
    assert ada[1] < his[1]
    set_challenge(of=monday_class, challenge=Challenge.USUAL, coach=coach)
    assert targets(monday_class)[0] is None


def test_the_desk_may_not(monday_class: GymClass, desk: StaffMember) -> None:
    with pytest.raises(ChallengeRefused, match="Only a coach or the lead"):
        set_challenge(of=monday_class, challenge=Challenge.BOLDER, coach=desk)
    monday_class.refresh_from_db()
    assert monday_class.challenge == Challenge.USUAL


def test_a_word_nobody_knows_is_refused(bo: Athlete, coach: StaffMember) -> None:
    with pytest.raises(ChallengeRefused, match="gentler, as usual or bolder"):
        set_challenge(of=bo, challenge="wild", coach=coach)
