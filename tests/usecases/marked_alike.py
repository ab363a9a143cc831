"""Checks by several coaches at the same children, for tests of how coaches mark."""

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from progress.models import Athlete, Attempt, ResultChoice, Skill, StaffMember
from tests import makers

WEEKS = 8
CHILDREN = 18


def mark_children(
    skill: Skill, shares: Mapping[StaffMember, float], *, today: date, same_day: bool = False
) -> None:
    """Eight weeks of checks in which each coach marks so large a share of the tries clean.

    The coaches see each child by turns, two tries a week; or all of them on the same day, a try
    each. Eighteen children make 144 tries for each of two coaches.
    """
    rows: list[Attempt] = []
    for number in range(CHILDREN):
        athlete = makers.make_athlete()
        for week in range(WEEKS):
            lot = (number * 7 + week * 3) % 20 / 20
            for turn, (coach, share) in enumerate(shares.items()):
                if same_day or (number + week) % len(shares) == turn:
                    clean = lot < share
                    day = today - timedelta(weeks=WEEKS - week)
                    rows += tries(athlete, skill, coach, clean, day, 1 if same_day else 2, turn)
    Attempt.objects.bulk_create(rows)


def tries(
    athlete: Athlete,
    skill: Skill,
    coach: StaffMember,
    clean: bool,
    day: date,
    number: int,
    turn: int,
) -> Iterator[Attempt]:
    """The same result so many times on one day."""
    for one in range(number):
        yield Attempt(
            uid=makers.next_code("marked"),
            athlete=athlete,
            skill=skill,
            result=ResultChoice.CLEAN if clean else ResultChoice.MISS,
            at=makers.moment(day, minute=5 * turn + one),
            coach=coach,
        )
