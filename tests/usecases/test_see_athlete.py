"""One athlete's page: ladders, readiness, ability over time and recent attempts."""

from datetime import timedelta

import pytest

from progress.engine.terms import SkillState
from progress.models import Athlete, Attempt, GymClass, Skill, StaffMember
from progress.usecases.see_athlete import RECENT, AthletePicture, see_athlete
from progress.usecases.see_class import see_class
from tests import makers

pytestmark = pytest.mark.django_db

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)


def see(athlete: Athlete) -> AthletePicture:
    return see_athlete(athlete=athlete, today=makers.TODAY)


def test_every_ladder_is_shown_with_its_rungs_from_the_easiest_up(ada: Athlete) -> None:
    ladders = see(ada).ladders

    assert [ladder.ladder.code for ladder in ladders] == ["landing", "hanging"]
    assert [[rung.skill.code for rung in ladder.rungs] for ladder in ladders] == [
        ["LAND-1", "LAND-2"],
        ["HANG-1", "HANG-2", "HANG-3"],
    ]
    assert all(rung.estimate.skill == rung.skill.code for each in ladders for rung in each.rungs)
    assert ladders[0].rungs[0].estimate.state == SkillState.SECURE


def test_the_page_says_what_the_page_of_the_class_says(
    monday_class: GymClass, bo: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    """Bo was only ever recorded by Kim, and still the gate asks for a second coach."""
    days = [makers.TODAY - ago * WEEK for ago in (2, 1)]
    makers.make_attempts(bo, small_catalogue["LAND-1"], ["clean"] * 6, days=days, coaches=[coach])
    tonight = see_class(gym_class=monday_class, today=makers.TODAY)

    for row in tonight.athletes:
        page = see(row.athlete)
        assert page.readiness.decision == row.readiness.decision
        assert page.readiness.reasons == row.readiness.reasons
        assert page.readiness.would_change == row.readiness.would_change
        assert page.readiness.p_ready == pytest.approx(row.readiness.p_ready)
        for rung in (rung for ladder in page.ladders for rung in ladder.rungs):
            said = row.estimates[rung.skill.code]
            assert (rung.estimate.state, rung.estimate.why) == (said.state, said.why)
            assert rung.estimate.chance == pytest.approx(said.chance)
    land = see(bo).ladders[0].rungs[0].estimate
    assert land.why.endswith("still asks for another coach.")


class TestRecentAttempts:
    def test_the_newest_come_first_and_no_more_than_fit(
        self, ada: Athlete, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        for ago in range(RECENT):
            makers.make_attempt(ada, small_catalogue["HANG-1"], at=makers.TODAY - ago * DAY)

        recent = see(ada).recent
        assert len(recent) == RECENT
        assert recent[0].at == makers.moment(makers.TODAY)
        assert [each.at for each in recent] == sorted((e.at for e in recent), reverse=True)
        assert {each.athlete_id for each in recent} == {ada.pk}

    def test_what_was_corrected_or_taken_back_is_gone(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        skill = small_catalogue["LAND-1"]
        right = makers.make_correction(makers.make_attempt(cy, skill, "clean"), "miss")
        makers.make_correction(makers.make_attempt(cy, skill))

        assert see(cy).recent == (right,)

    def test_what_comes_after_the_day_is_not_shown(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(cy, small_catalogue["LAND-1"], at=makers.TODAY + DAY)
        last = makers.moment(makers.TODAY, 23, 59)
        makers.make_attempt(cy, small_catalogue["HANG-1"], at=last)

        assert [each.at for each in see(cy).recent] == [last]


class TestAbilityOverTime:
    def test_there_is_a_point_for_each_day_with_attempts_and_one_for_today(
        self, ada: Athlete
    ) -> None:
        history = see(ada).history

        days = [makers.TODAY - ago * WEEK for ago in (4, 3, 2, 1)]
        assert list(history.days) == [*days, makers.TODAY]
        assert len(history.mean) == len(history.low) == len(history.high) == 5
        for low, mean, high in zip(history.low, history.mean, history.high, strict=True):
            assert low < mean < high

    def test_no_point_lies_after_today_even_on_a_day_with_attempts(
        self, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_attempt(ada, small_catalogue["LAND-1"], at=makers.TODAY)

        assert see(ada).history.days[-2:] == (makers.TODAY, makers.TODAY)

    def test_the_band_narrows_while_checked_and_widens_while_away(self, ada: Athlete) -> None:
        history = see_athlete(athlete=ada, today=makers.TODAY + 26 * WEEK).history

        width = [high - low for low, high in zip(history.low, history.high, strict=True)]
        assert width[0] > width[1] > width[2] > width[3]
        assert width[4] > width[3]

    def test_each_tier_of_the_catalogue_has_its_level(self, ada: Athlete) -> None:
        level = see(ada).history.tier_level
        assert list(level) == [1, 2]
        assert level[1] < level[2]


def test_a_child_never_checked_has_a_page(
    cy: Athlete, small_catalogue: dict[str, Skill], monday_class: GymClass
) -> None:
    page = see(cy)

    assert (page.recent, page.holds) == ((), ())
    assert page.history.days == (makers.TODAY,)
    rungs = [rung for ladder in page.ladders for rung in ladder.rungs]
    assert {rung.estimate.state for rung in rungs} == {SkillState.UNCHECKED}
    assert page.readiness.decision == "needs_checks"
    assert {check.athlete for check in page.checks} == {"cy"}
    assert Attempt.objects.exists()  # others' attempts are there and stay out


def test_a_hold_is_shown_and_nothing_is_to_be_checked(ada: Athlete) -> None:
    hold = makers.make_hold(ada)

    page = see(ada)
    assert (page.holds, page.checks) == ((hold,), ())
    assert page.readiness.decision == "nearly"
