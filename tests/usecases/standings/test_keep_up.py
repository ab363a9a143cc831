"""Bringing the standings up to date: who waits, and that the answers are those of a full replay."""

from datetime import date, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.models import Athlete, Calibration, Setup, Skill, StaffMember, Standing, Tier
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.standings import work_out as working
from progress.usecases.standings.basis import ground_of
from progress.usecases.standings.changed import note_changed
from progress.usecases.standings.keep_up import Freshness, bring_up_to_date
from tests import makers
from tests.usecases.standings.conftest import row_of, stored_is_a_full_replay, waiting

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class TestTheAnswers:
    def test_they_are_those_of_a_replay_of_everybody(
        self, ada: Athlete, bo: Athlete, cy: Athlete, today: date
    ) -> None:
        makers.make_hold(bo, starts=today)

        assert bring_up_to_date(today=today) == Freshness(0, today, worked_out=3)
        assert stored_is_a_full_replay(today)
        assert {row.decision for row in Standing.objects.all()} == {
            "ready",
            "building",
            "needs_checks",
        }

    def test_it_makes_no_difference_how_many_are_worked_out_at_a_time(
        self, up_to_date: None, ada: Athlete, today: date, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        together = row_of(ada)
        monkeypatch.setattr(working, "AT_A_TIME", 1)
        note_changed(athletes=Athlete.objects.values_list("pk", flat=True))

        assert bring_up_to_date(today=today).worked_out == 3
        alone = row_of(ada)
        assert alone["p_ready"] == pytest.approx(together["p_ready"], abs=1e-9)
        assert alone["reasons"] == together["reasons"]
        assert stored_is_a_full_replay(today)

    def test_an_empty_gym_is_up_to_date(self, db: None, today: date) -> None:
        assert bring_up_to_date(today=today) == Freshness(0, today)

    def test_athletes_in_a_gym_without_skills_wait_for_checks(
        self, cy: Athlete, today: date
    ) -> None:
        bring_up_to_date(today=today)

        assert row_of(cy)["decision"] == "needs_checks"
        assert row_of(cy)["abilities"] == {}


class TestWhoWaits:
    def test_nobody_the_second_time(self, up_to_date: None, today: date) -> None:
        assert bring_up_to_date(today=today) == Freshness(0, today)

    def test_everybody_on_another_day(self, up_to_date: None, today: date) -> None:
        assert bring_up_to_date(today=today + DAY) == Freshness(0, today + DAY, worked_out=3)
        assert stored_is_a_full_replay(today + DAY)

    def test_everybody_after_the_rules_changed(
        self, up_to_date: None, ada: Athlete, today: date
    ) -> None:
        before = row_of(ada)["decision"]
        makers.models.RuleBook.objects.create(version=2, values={"ready_at": 0.999})

        assert waiting(today) == 3
        bring_up_to_date(today=today)
        assert (before, row_of(ada)["decision"]) == ("ready", "needs_checks")
        assert stored_is_a_full_replay(today)

    def test_everybody_after_another_calibration(
        self, up_to_date: None, ada: Athlete, today: date, small_catalogue: dict[str, Skill]
    ) -> None:
        day = today - 5 * DAY
        makers.make_attempts(ada, small_catalogue["HANG-1"], ["miss"] * 30, days=[day])
        bring_up_to_date(today=today)
        calibrate_gym(today=today)

        assert Calibration.objects.count() == 2
        assert waiting(today) == 3
        bring_up_to_date(today=today)
        assert stored_is_a_full_replay(today)

    def test_nobody_where_a_calibration_learnt_nothing_new(
        self, up_to_date: None, today: date
    ) -> None:
        calibrate_gym(today=today)
        assert waiting(today) == 0

    def test_everybody_once_a_second_coach_recorded_anybody(
        self,
        bo: Athlete,
        cy: Athlete,
        lead: StaffMember,
        today: date,
        small_catalogue: dict[str, Skill],
    ) -> None:
        """Bo's gate then asks for two coaches, though the second never saw Bo."""
        bring_up_to_date(today=today)
        makers.make_attempt(cy, small_catalogue["HANG-1"], coach=lead, at=today)
        note_changed(athletes=[cy.pk])

        assert waiting(today) == 2
        bring_up_to_date(today=today)
        assert stored_is_a_full_replay(today)

    def test_everybody_after_a_skill_or_a_youngest_age_changed(
        self, up_to_date: None, today: date
    ) -> None:
        Skill.objects.filter(code="HANG-1").update(standard=0.7)
        assert waiting(today) == 3
        bring_up_to_date(today=today)
        Tier.objects.filter(number=2).update(minimum_age=9.0)
        assert waiting(today) == 3

    def test_everybody_after_a_variant_came_that_is_newer_than_the_calibration(
        self, up_to_date: None, today: date, floor: Setup
    ) -> None:
        assert waiting(today) == 3
        bring_up_to_date(today=today)
        floor.stations.get(code="jump").variants.filter(step=1).update(difficulty=2.0)
        assert waiting(today) == 3

    def test_only_who_changed(
        self, up_to_date: None, ada: Athlete, bo: Athlete, today: date
    ) -> None:
        note_changed(athletes=[ada.pk])
        before = row_of(bo)

        assert bring_up_to_date(today=today) == Freshness(0, today, worked_out=1)
        assert row_of(bo) == before

    def test_nobody_who_left(
        self, up_to_date: None, ada: Athlete, bo: Athlete, today: date
    ) -> None:
        Athlete.objects.filter(pk=ada.pk).update(left=today)
        Athlete.objects.filter(pk=bo.pk).update(left=today + 2 * DAY)
        before = row_of(ada)

        assert bring_up_to_date(today=today + DAY).worked_out == 2
        assert row_of(ada) == before
        assert row_of(bo)["on_day"] == today + DAY


class TestNotTooMany:
    def test_more_than_asked_for_are_left_as_they_are_and_counted(
        self, up_to_date: None, ada: Athlete, cy: Athlete, today: date
    ) -> None:
        before = row_of(ada)
        makers.make_athlete("di")

        assert bring_up_to_date(today=today + DAY, at_most=3) == Freshness(4, today)
        assert row_of(ada) == before
        assert not Standing.objects.filter(athlete__code="di").exists()
        assert bring_up_to_date(today=today + DAY, at_most=4).worked_out == 4

    def test_before_the_first_time_there_is_no_day_to_name(self, cy: Athlete, today: date) -> None:
        assert bring_up_to_date(today=today, at_most=0) == Freshness(1, None)

    def test_the_day_named_is_the_oldest(self, up_to_date: None, ada: Athlete, today: date) -> None:
        bring_up_to_date(today=today + DAY)
        Standing.objects.filter(athlete=ada).update(on_day=today)

        assert bring_up_to_date(today=today + DAY, at_most=0) == Freshness(1, today)


def test_asking_whether_anybody_waits_takes_three_queries(
    up_to_date: None, today: date, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(3):
        bring_up_to_date(today=today)
    ground = ground_of(today=today)
    with django_assert_num_queries(1):
        assert bring_up_to_date(today=today, ground=ground) == Freshness(0, today)


def test_a_gym_twice_as_big_asks_as_often(
    up_to_date: None, today: date, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for many in (3, 6):
        note_changed(athletes=Athlete.objects.values_list("pk", flat=True))
        bring_up_to_date(today=today)
        note_changed(athletes=Athlete.objects.values_list("pk", flat=True))
        with django_assert_num_queries(16):
            assert bring_up_to_date(today=today).worked_out == many
        for _ in range(3):
            makers.make_athlete()
