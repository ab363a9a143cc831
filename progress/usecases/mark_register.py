"""A coach marks who came; everybody counts as here until marked away."""

from collections.abc import Mapping
from datetime import date

from django.db import transaction

from progress.models import GymClass, RegisterEntry, StaffMember
from progress.usecases.sheets.meetings import open_meeting
from progress.usecases.sheets.roles import may_record


class RegisterRefused(ValueError):
    """The register cannot be stored; the message says why."""


class NotInClass(RegisterRefused):
    """An athlete on the register is not enrolled in the class that day."""

    def __init__(self, codes: list[str]) -> None:
        self.codes = codes
        super().__init__(f"Not in this class today: {', '.join(codes)}.")


@transaction.atomic
def mark_register(
    *, gym_class: GymClass, day: date, present: Mapping[str, bool], coach: StaffMember
) -> int:
    """Store who was here (athlete code to yes or no); return how many entries changed.

    Marking the same again changes nothing, so a tap can always be undone by another. Athletes not
    named keep their mark. Raises RegisterRefused for somebody who is no coach or lead, NotInClass
    for an athlete of another class, and then nothing is stored.
    """
    if not may_record(coach):
        raise RegisterRefused("Only a coach or the lead may mark the register.")
    enrolled = {athlete.code: athlete for athlete in gym_class.athletes_on(day)}
    strangers = sorted(set(present) - set(enrolled))
    if strangers:
        raise NotInClass(strangers)
    meeting = open_meeting(gym_class=gym_class, day=day)
    stored = dict(meeting.register.values_list("athlete__code", "present"))
    changed = [code for code, here in present.items() if stored.get(code) != here]
    RegisterEntry.objects.bulk_create(
        [
            RegisterEntry(meeting=meeting, athlete=enrolled[code], present=present[code])
            for code in changed
        ],
        update_conflicts=True,
        unique_fields=["meeting", "athlete"],
        update_fields=["present"],
    )
    return len(changed)
