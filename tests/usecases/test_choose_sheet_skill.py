"""Adding a skill to the sheet of a meeting, and taking one off it."""

from datetime import timedelta
from typing import Any

import pytest

from progress.models import GymClass, Meeting, SheetSkill, Skill, StaffMember
from progress.usecases.choose_sheet_skill import SkillRefused, choose_sheet_skill
from progress.usecases.mark_register import mark_register
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    return small_catalogue["HANG-3"]


def choose(
    gym_class: GymClass, skill: Skill, coach: StaffMember, *, shown: bool = True
) -> SheetSkill:
    return choose_sheet_skill(
        gym_class=gym_class, today=makers.TODAY, skill=skill, shown=shown, coach=coach
    )


def test_a_choice_is_kept_with_its_meeting_and_who_made_it(
    monday_class: GymClass, hang: Skill, coach: StaffMember
) -> None:
    choice = choose(monday_class, hang, coach)

    assert SheetSkill.objects.get() == choice
    assert (choice.meeting.gym_class, choice.meeting.day) == (monday_class, makers.TODAY)
    assert (choice.skill, choice.shown, choice.chosen_by) == (hang, True, coach)


def test_the_last_choice_counts_whoever_made_it(
    monday_class: GymClass, hang: Skill, coach: StaffMember, lead: StaffMember
) -> None:
    first = choose(monday_class, hang, coach)
    choose(monday_class, hang, lead, shown=False)

    choice = SheetSkill.objects.get()
    assert (choice.pk, choice.shown, choice.chosen_by) == (first.pk, False, lead)


def test_choosing_opens_the_meeting_once_with_everybody_here(
    monday_class: GymClass, hang: Skill, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    choose(monday_class, hang, coach)
    meeting = Meeting.objects.get()
    assert dict(meeting.register.values_list("athlete__code", "present")) == {
        "ada": True,
        "bo": True,
    }
    mark_register(gym_class=monday_class, day=makers.TODAY, present={"bo": False}, coach=coach)
    choose(monday_class, small_catalogue["LAND-2"], coach)

    assert Meeting.objects.get() == meeting
    assert not meeting.register.get(athlete__code="bo").present


def test_a_choice_is_for_one_meeting_alone(
    monday_class: GymClass, hang: Skill, coach: StaffMember
) -> None:
    next_week = makers.make_meeting(monday_class, makers.TODAY + timedelta(weeks=1))
    choose(monday_class, hang, coach)
    assert not SheetSkill.objects.filter(meeting=next_week).exists()


@pytest.mark.parametrize("change", [{"role": "desk"}, {"active": False}])
def test_only_an_active_coach_or_lead_changes_the_sheet(
    monday_class: GymClass, hang: Skill, change: dict[str, Any]
) -> None:
    with pytest.raises(SkillRefused, match="Only a coach or the lead"):
        choose(monday_class, hang, makers.make_staff(**change))
    assert not SheetSkill.objects.exists()
    assert not Meeting.objects.exists()
