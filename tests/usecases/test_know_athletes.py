"""What is known of some athletes on a day, and that it does not depend on who else is asked for."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.engine.terms import Decision, SkillState
from progress.models import Athlete, RuleBook, Skill, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.know_athletes import Known, know_athletes
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def know(*athletes: Athlete, today: date = makers.TODAY) -> Known:
    return know_athletes(athletes=athletes, today=today)


def test_each_row_is_one_athlete_in_the_order_asked(ada: Athlete, bo: Athlete, cy: Athlete) -> None:
    known = know(cy, ada, bo)

    assert known.athletes == (cy, ada, bo)
    assert [answer.athlete for answer in known.readiness] == ["cy", "ada", "bo"]
    assert [known.estimates(row)["HANG-1"].state for row in range(3)] == [
        SkillState.UNCHECKED,
        SkillState.SECURE,
        SkillState.BUILDING,
    ]


def test_estimates_come_skill_by_skill_in_the_order_of_the_catalogue(ada: Athlete) -> None:
    estimates = know(ada).estimates(0)

    assert list(estimates) == ["LAND-1", "LAND-2", "HANG-1", "HANG-2", "HANG-3"]
    assert all(code == estimate.skill for code, estimate in estimates.items())
    land = estimates["LAND-1"]
    assert (land.attempts, land.days, land.recent) == (8, 4, 8)
    assert land.low < land.chance < land.high


def test_the_answers_are_the_same_alone_and_in_company(
    ada: Athlete, bo: Athlete, cy: Athlete
) -> None:
    together = know(bo, cy, ada)
    for row, athlete in enumerate(together.athletes):
        alone = know(athlete)
        assert alone.readiness[0].decision == together.readiness[row].decision
        assert alone.readiness[0].reasons == together.readiness[row].reasons
        assert alone.readiness[0].p_ready == pytest.approx(together.readiness[row].p_ready)
        for code, estimate in alone.estimates(0).items():
            other = together.estimates(row)[code]
            assert (estimate.state, estimate.held) == (other.state, other.held)
            assert (estimate.why, estimate.last) == (other.why, other.last)
            assert estimate.chance == pytest.approx(other.chance, abs=1e-9)


def test_a_gate_asks_for_a_second_coach_though_only_one_ever_saw_this_child(
    ada: Athlete, cy: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    """Two coaches recorded Ada, so this gym has two; alone on a page Cy must not need fewer."""
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (4, 3, 2, 1)]
    gate = small_catalogue["LAND-1"]
    makers.make_attempts(cy, gate, ["clean"] * 12, days=days, coaches=[coach])

    land = know(cy).estimates(0)["LAND-1"]
    assert (land.state, land.held) == (SkillState.NEARLY, False)
    assert land.why == "12 of 12 clean on 4 days; still asks for another coach."


def test_a_gym_with_one_coach_is_not_asked_for_a_second(
    cy: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    days = [makers.TODAY - timedelta(weeks=weeks) for weeks in (4, 3, 2, 1)]
    gate = small_catalogue["LAND-1"]
    makers.make_attempts(cy, gate, ["clean"] * 12, days=days, coaches=[coach])

    assert know(cy).estimates(0)["LAND-1"].state == SkillState.SECURE


def test_what_happened_later_is_not_known_yet(ada: Athlete) -> None:
    two_weeks_ago = makers.TODAY - timedelta(weeks=2)

    assert know(ada, today=two_weeks_ago).estimates(0)["LAND-1"].attempts == 6
    assert know(ada, today=two_weeks_ago - DAY).estimates(0)["LAND-1"].attempts == 4


def test_the_rules_in_force_decide(ada: Athlete) -> None:
    assert know(ada).readiness[0].decision == Decision.READY
    RuleBook.objects.create(version=1, values={"clean_days": 5})
    assert know(ada).readiness[0].decision == Decision.NEEDS_CHECKS
    RuleBook.objects.create(version=2, values={"clean_days": 4})
    assert know(ada).readiness[0].decision == Decision.READY


@pytest.mark.parametrize(("born", "ready"), [(date(2021, 3, 2), True), (date(2021, 3, 3), False)])
def test_nobody_looks_ready_before_the_age_of_the_next_tier(
    ada: Athlete, born: date, ready: bool
) -> None:
    """Tier 2 of the cast asks for 5 years."""
    Athlete.objects.update(birth_date=born)
    ada.refresh_from_db()

    (answer,) = know(ada).readiness
    assert (answer.decision == Decision.READY) is ready
    assert ("younger than tier 2 asks for" in answer.reasons) is not ready


def test_a_held_athlete_is_never_called_ready_and_is_asked_for_no_check(
    ada: Athlete, bo: Athlete
) -> None:
    hold = makers.make_hold(ada)
    known = know(ada, bo)

    assert known.readiness[0].decision == Decision.NEARLY
    assert known.readiness[0].reasons[0] == "on hold: ask the lead"
    assert {check.athlete for check in known.checks} == {"bo"}
    assert (known.holds.in_force(ada), known.holds.in_force(bo)) == ((hold,), ())


def test_all_holds_in_force_are_told_the_newest_first(ada: Athlete) -> None:
    oldest = makers.make_hold(ada, starts=makers.TODAY - 9 * DAY)
    newest = makers.make_hold(ada, starts=makers.TODAY - 2 * DAY, kind="wish")
    makers.make_hold(ada, starts=makers.TODAY - DAY, lifted=makers.TODAY)

    assert know(ada).holds.in_force(ada) == (newest, oldest)


def test_the_last_check_is_a_day_or_never(ada: Athlete, cy: Athlete) -> None:
    known = know(ada, cy)

    assert known.last_checked(0) == makers.TODAY - 7 * DAY
    assert known.last_checked(1) is None
    assert not known.not_seen_since(0, 8)
    assert known.not_seen_since(0, 7)
    assert known.not_seen_since(1, 365)


def test_without_a_catalogue_there_is_nothing_to_say_and_nothing_breaks(cy: Athlete) -> None:
    known = know(cy)

    assert (known.estimates(0), known.checks) == ({}, ())
    assert known.readiness[0].decision == Decision.NEEDS_CHECKS
    makers.make_skill("LAND-1")
    assert list(know(cy).estimates(0)) == ["LAND-1"]


def test_nobody_is_a_group_too(small_catalogue: dict[str, Skill]) -> None:
    known = know()
    assert (known.readiness, known.checks) == ((), ())


def test_seven_queries_are_asked_eight_where_there_are_holds_and_one_more_for_the_coaches(
    ada: Athlete, bo: Athlete, cy: Athlete, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    calibrate_gym(today=makers.TODAY)
    with django_assert_num_queries(7):
        know(ada).readiness  # noqa: B018
    makers.make_hold(bo, ladders=[makers.make_ladder("hanging")])
    makers.make_hold(cy)
    with django_assert_num_queries(8):
        known = know(ada, bo, cy)
        assert known.checks
        assert [len(known.holds.in_force(each)) for each in known.athletes] == [0, 1, 1]
    with django_assert_num_queries(9):
        known = know(cy, bo)  # Fewer than two coaches are in their log.
