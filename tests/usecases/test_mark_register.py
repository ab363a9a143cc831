"""The register: everybody is here until marked away, and every tap can be undone."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, GymClass, Meeting, RegisterEntry, StaffMember
from progress.usecases.mark_register import NotInClass, RegisterRefused, mark_register
from progress.usecases.open_sheet import open_sheet
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def mark(gym_class: GymClass, **present: bool) -> int:
    kim = StaffMember.objects.get(code="kim")
    return mark_register(gym_class=gym_class, day=makers.TODAY, present=present, coach=kim)


def register(gym_class: GymClass) -> dict[str, bool]:
    meeting = Meeting.objects.get(gym_class=gym_class, day=makers.TODAY)
    return dict(meeting.register.values_list("athlete__code", "present"))


def test_the_first_mark_opens_the_meeting_with_everybody_else_here(monday_class: GymClass) -> None:
    assert mark(monday_class, bo=False) == 1
    assert register(monday_class) == {"ada": True, "bo": False}


def test_a_second_tap_undoes_the_first_and_a_third_does_it_again(monday_class: GymClass) -> None:
    seen = []
    for here in (False, True, False):
        assert mark(monday_class, bo=here) == 1
        seen.append(register(monday_class)["bo"])

    assert seen == [False, True, False]
    assert RegisterEntry.objects.count() == 2


def test_the_same_mark_again_changes_nothing(monday_class: GymClass) -> None:
    mark(monday_class, bo=False)
    assert mark(monday_class, bo=False, ada=True) == 0
    assert register(monday_class) == {"ada": True, "bo": False}


def test_who_is_not_named_keeps_their_mark(monday_class: GymClass) -> None:
    mark(monday_class, bo=False)
    mark(monday_class, ada=False)
    assert register(monday_class) == {"ada": False, "bo": False}


def test_an_old_meeting_without_a_register_takes_marks(monday_class: GymClass, cy: Athlete) -> None:
    """As after a child joined the class when the meeting was already open."""
    makers.make_meeting(monday_class)
    makers.enrol(cy, monday_class)

    assert mark(monday_class, cy=True, bo=False) == 2
    assert register(monday_class) == {"cy": True, "bo": False}


@pytest.mark.parametrize("stranger", ["cy", "nobody", ""])
def test_a_stranger_is_refused_and_nothing_is_stored(
    monday_class: GymClass, cy: Athlete, stranger: str
) -> None:
    with pytest.raises(NotInClass) as refused:
        mark(monday_class, bo=False, **{stranger: True})

    assert refused.value.codes == [stranger]
    assert str(refused.value) == f"Not in this class today: {stranger}."
    assert not Meeting.objects.exists()


def test_strangers_leave_a_meeting_as_it_was(monday_class: GymClass, cy: Athlete) -> None:
    makers.enrol(cy, monday_class, until=makers.TODAY - DAY)
    mark(monday_class, ada=False)
    with pytest.raises(NotInClass, match=r"Not in this class today: cy, zoe\."):
        mark(monday_class, zoe=True, ada=True, cy=True)

    assert register(monday_class) == {"ada": False, "bo": True}


def test_the_register_of_another_day_is_its_own(monday_class: GymClass) -> None:
    mark(monday_class, bo=False)
    kim = StaffMember.objects.get(code="kim")
    day = makers.TODAY - 7 * DAY
    mark_register(gym_class=monday_class, day=day, present={"bo": True}, coach=kim)
    assert register(monday_class) == {"ada": True, "bo": False}


def test_the_sheet_shows_who_is_away_and_has_everybody_else_here(monday_class: GymClass) -> None:
    def here() -> list[bool]:
        return [row.present for row in open_sheet(gym_class=monday_class, today=makers.TODAY).rows]

    assert here() == [True, True]
    mark(monday_class, bo=False)
    assert here() == [True, False]
    mark(monday_class, bo=True)
    assert here() == [True, True]


def test_a_large_class_takes_as_many_queries_as_a_small_one(coach: StaffMember) -> None:
    def count(size: int) -> int:
        athletes = [makers.make_athlete() for _ in range(size)]
        gym_class = makers.make_class(athletes=athletes)
        assert mark(gym_class) == 0
        with CaptureQueriesContext(connection) as asked:
            present = {athlete.code: False for athlete in athletes}
            assert mark(gym_class, **present) == size
        return len(asked)

    assert count(5) == count(30) == 7  # who marks, four, and the savepoint around them


@pytest.mark.parametrize("change", [{"role": "desk"}, {"active": False}])
def test_only_an_active_coach_or_lead_marks_it(
    monday_class: GymClass, change: dict[str, Any]
) -> None:
    somebody = makers.make_staff(**change)
    with pytest.raises(RegisterRefused, match="Only a coach or the lead"):
        mark_register(
            gym_class=monday_class, day=makers.TODAY, present={"bo": False}, coach=somebody
        )
    assert not Meeting.objects.exists()


def test_the_lead_marks_it_too(monday_class: GymClass, lead: StaffMember) -> None:
    mark_register(gym_class=monday_class, day=makers.TODAY, present={"bo": False}, coach=lead)
    assert register(monday_class)["bo"] is False
