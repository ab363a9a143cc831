"""How many adults are on the floor that day."""

from datetime import timedelta

import pytest

from progress.models import GymClass, Meeting, StaffMember
from progress.usecases.plans.set_adults import MOST, AdultsRefused, set_adults
from progress.usecases.plans.setting import athletes_for, setting_of
from tests import makers

pytestmark = pytest.mark.django_db
TODAY = makers.TODAY


def say(
    gym_class: GymClass, coach: StaffMember, adults: int | None, spotters: int | None
) -> Meeting:
    return set_adults(
        gym_class=gym_class,
        day=TODAY,
        adults=adults,
        spotters=spotters,
        coach=coach,
        today=TODAY,
    )


def now(gym_class: GymClass) -> tuple[int | None, int | None]:
    setting = setting_of(gym_class, TODAY, athletes_for(gym_class, TODAY))
    return setting.adults, setting.spotters


def test_what_is_said_for_the_day_goes_before_what_is_usual(
    monday_class: GymClass, coach: StaffMember
) -> None:
    GymClass.objects.update(adults=4, spotters=2)
    monday_class.refresh_from_db()
    assert now(monday_class) == (4, 2)

    say(monday_class, coach, 3, 0)
    assert now(monday_class) == (3, 0)

    say(monday_class, coach, None, None)
    assert now(monday_class) == (4, 2)


@pytest.mark.parametrize(
    ("adults", "spotters", "why"),
    [
        (-1, None, "from 0 to"),
        (MOST + 1, None, "from 0 to"),
        (None, -1, "from 0 to"),
        (1, 2, "only 1 on the floor"),
    ],
)
def test_numbers_that_cannot_be_are_refused(
    monday_class: GymClass, coach: StaffMember, adults: int | None, spotters: int | None, why: str
) -> None:
    with pytest.raises(AdultsRefused, match=why):
        say(monday_class, coach, adults, spotters)
    assert not Meeting.objects.exists()


def test_the_desk_and_past_days_are_refused(
    monday_class: GymClass, coach: StaffMember, desk: StaffMember
) -> None:
    with pytest.raises(AdultsRefused, match="Only a coach"):
        say(monday_class, desk, 3, 1)
    with pytest.raises(AdultsRefused, match="over"):
        set_adults(
            gym_class=monday_class,
            day=TODAY - timedelta(days=1),
            adults=3,
            spotters=1,
            coach=coach,
            today=TODAY,
        )
