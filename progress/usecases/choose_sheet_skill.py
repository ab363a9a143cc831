"""A coach adds a skill to the sheet of a meeting, or takes one off it."""

from datetime import date

from django.db import transaction

from progress.models import GymClass, SheetSkill, Skill, StaffMember
from progress.usecases.sheets.meetings import open_meeting
from progress.usecases.sheets.roles import may_record


class SkillRefused(ValueError):
    """The sheet cannot be changed; the message says why."""


@transaction.atomic
def choose_sheet_skill(
    *, gym_class: GymClass, today: date, skill: Skill, shown: bool, coach: StaffMember
) -> SheetSkill:
    """Remember the choice for today's meeting; the last choice counts.

    A skill that was tried today stays on the sheet whatever is chosen, so that no try is hidden.
    Raises SkillRefused for somebody who is no coach or lead.
    """
    if not may_record(coach):
        raise SkillRefused("Only a coach or the lead may change the sheet.")
    meeting = open_meeting(gym_class=gym_class, day=today)
    choice, _ = SheetSkill.objects.update_or_create(
        meeting=meeting, skill=skill, defaults={"shown": shown, "chosen_by": coach}
    )
    return choice
