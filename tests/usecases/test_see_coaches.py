"""Strict and generous coaches are told apart; who is new, gone or alone is not judged."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, Role, Skill, StaffMember
from progress.usecases.see_coaches import CoachSeen, see_coaches
from tests import makers
from tests.usecases.marked_alike import mark_children

pytestmark = pytest.mark.django_db


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    return small_catalogue["HANG-1"]


def by_code(today: date) -> dict[str, CoachSeen]:
    return {coach.code: coach for coach in see_coaches(today=today).coaches}


def test_who_gives_fewer_clean_at_the_same_children_is_stricter(
    hang: Skill, coach: StaffMember, lead: StaffMember, today: date
) -> None:
    mark_children(hang, {coach: 0.35, lead: 0.75}, today=today)

    kim, lee = by_code(today)["kim"], by_code(today)["lee"]

    assert kim.tries == lee.tries == 144
    assert kim.gives is not None
    assert lee.gives is not None
    assert kim.high is not None
    assert kim.low is not None
    assert kim.low < kim.gives < kim.high < 0.80 < lee.gives


def test_coaches_who_mark_alike_are_about_the_others_and_no_pair_is_named(
    hang: Skill, coach: StaffMember, lead: StaffMember, today: date
) -> None:
    mark_children(hang, {coach: 0.6, lead: 0.6}, today=today)

    found = see_coaches(today=today)

    for one in found.coaches:
        assert one.low is not None
        assert one.high is not None
        assert one.low < 0.80 < one.high


def test_a_strict_and_a_generous_coach_are_proposed_to_check_together(
    hang: Skill, coach: StaffMember, lead: StaffMember, today: date
) -> None:
    mark_children(hang, {coach: 0.35, lead: 0.75}, today=today)

    (pair,) = see_coaches(today=today).pairs

    assert {pair.one, pair.other} == {"Kim", "Lee"}
    assert pair.other_gives is not None
    assert (pair.other_gives > 0.80) is (pair.other == "Lee")
    assert pair.skills == ("Hang for ten seconds",)
    assert pair.double_checks == 0


def test_skills_that_both_saw_lately_and_that_come_half_the_time_tell_most(
    small_catalogue: dict[str, Skill],
    hang: Skill,
    coach: StaffMember,
    lead: StaffMember,
    today: date,
) -> None:
    mark_children(small_catalogue["LAND-1"], {coach: 1.0, lead: 1.0}, today=today)
    mark_children(hang, {coach: 0.3, lead: 0.7}, today=today)
    mark_children(small_catalogue["HANG-2"], {coach: 0.5}, today=today)

    (pair,) = see_coaches(today=today).pairs

    assert pair.skills[:2] == ("Hang for ten seconds", "Land still on two feet")


def test_of_a_coach_with_few_tries_nothing_is_said_but_a_pair_may_be_proposed(
    hang: Skill, ada: Athlete, coach: StaffMember, lead: StaffMember, today: date
) -> None:
    mark_children(hang, {coach: 0.6, lead: 0.6}, today=today)
    new = makers.make_staff("nia", name="Nia")
    for _ in range(5):
        makers.make_attempt(ada, hang, at=today - timedelta(days=3), coach=new)

    found = see_coaches(today=today)
    nia = next(one for one in found.coaches if one.code == "nia")

    assert (nia.tries, nia.gives, nia.low, nia.high) == (5, None, None, None)
    assert all(pair.other_gives is None for pair in found.pairs if "Nia" in (pair.one, pair.other))
    assert any("Nia" in (pair.one, pair.other) for pair in found.pairs)


def test_a_coach_alone_is_compared_with_nobody(
    hang: Skill, coach: StaffMember, today: date
) -> None:
    mark_children(hang, {coach: 0.6}, today=today)

    found = see_coaches(today=today)

    assert [(one.code, one.gives) for one in found.coaches] == [("kim", None)]
    assert found.pairs == ()


def test_who_no_longer_works_here_is_not_shown_but_still_compared_with(
    hang: Skill, coach: StaffMember, today: date
) -> None:
    gone = makers.make_staff("pat", active=False)
    mark_children(hang, {coach: 0.35, gone: 0.75}, today=today)

    (kim,) = see_coaches(today=today).coaches

    assert kim.gives is not None
    assert kim.gives < 0.80


def test_coaches_come_by_name_and_not_by_severity(hang: Skill, today: date) -> None:
    shares = {
        makers.make_staff(code, name=name, role=Role.COACH): share
        for code, name, share in (("c", "Ana", 0.7), ("a", "Zoe", 0.4), ("b", "Mo", 0.55))
    }
    mark_children(hang, shares, today=today)

    assert [one.name for one in see_coaches(today=today).coaches] == ["Ana", "Mo", "Zoe"]


def test_tries_of_today_wait_until_tomorrow(
    hang: Skill, coach: StaffMember, lead: StaffMember, ada: Athlete, today: date
) -> None:
    """Ada's own history has eight tries at each of two skills, half of them Kim's."""
    before = by_code(today)["kim"].tries
    makers.make_attempt(ada, hang, at=today, coach=coach)
    assert by_code(today)["kim"].tries == before == 8
    assert by_code(today + timedelta(days=1))["kim"].tries == 9


@pytest.mark.usefixtures("small_catalogue")
def test_a_gym_without_tries_has_no_coaches_to_show(coach: StaffMember, today: date) -> None:
    found = see_coaches(today=today)
    assert (found.coaches, found.pairs, found.agreement.pairs) == ((), (), 0)
