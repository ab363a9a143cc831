"""Which guardian may see which child: the lead and the desk say so, and it holds at once."""

import pytest

from progress.models import Athlete, Role, StaffMember
from progress.usecases.families.rights import RightRefused, set_right
from tests import makers


@pytest.mark.parametrize("role", [Role.LEAD, Role.DESK])
def test_the_lead_and_the_desk_may_take_and_give_it(role: str, ada: Athlete, bo: Athlete) -> None:
    person = makers.make_staff(role=role)
    parent = makers.make_guardian([ada, bo])
    set_right(guardian=parent, athlete=ada, may_see=False, staff=person)
    assert list(Athlete.objects.visible_to(parent.user)) == [bo]
    set_right(guardian=parent, athlete=ada, may_see=True, staff=person)
    assert set(Athlete.objects.visible_to(parent.user)) == {ada, bo}


def test_a_coach_may_not_and_nobody_who_left(ada: Athlete, coach: StaffMember) -> None:
    parent = makers.make_guardian([ada])
    gone = makers.make_staff(role=Role.LEAD, active=False)
    for person in (coach, gone):
        with pytest.raises(RightRefused):
            set_right(guardian=parent, athlete=ada, may_see=False, staff=person)
    assert parent.guardianships.get().may_see


def test_there_is_no_right_for_a_child_that_is_not_theirs(
    ada: Athlete, bo: Athlete, lead: StaffMember
) -> None:
    with pytest.raises(RightRefused, match="not linked"):
        set_right(guardian=makers.make_guardian([ada]), athlete=bo, may_see=True, staff=lead)
