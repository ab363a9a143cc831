"""Tonight's class: everybody in it, their variants on the floor, and what to check."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, GymClass, Loop, Setup, Skill, StaffMember
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.see_class import AthleteTonight, ClassTonight, loops_for, see_class
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def see(gym_class: GymClass, today: date = makers.TODAY) -> ClassTonight:
    return see_class(gym_class=gym_class, today=today)


def names(tonight: ClassTonight) -> list[str]:
    return [row.athlete.code for row in tonight.athletes]


def of(tonight: ClassTonight, athlete: Athlete) -> AthleteTonight:
    return next(row for row in tonight.athletes if row.athlete == athlete)


def floor_of_loops(skills: dict[str, Skill], count: int, *, small: bool = False) -> list[Loop]:
    """Loops of two stations each on an undated floor."""
    setup = Setup.objects.first() or makers.make_setup()
    area = makers.make_area("small" if small else "hall", small=small)
    return [
        makers.make_loop(
            setup,
            stations=[
                makers.make_station(setup, variants=[skills["LAND-1"], skills["LAND-2"]]),
                makers.make_station(setup, variants=[skills["HANG-1"], skills["HANG-2"]]),
            ],
            area=area,
        )
        for _ in range(count)
    ]


class TestWhoIsThere:
    def test_everybody_enrolled_today_and_nobody_else(
        self, monday_class: GymClass, small_catalogue: dict[str, Skill]
    ) -> None:
        today = makers.TODAY
        last_day, first_day, gone, next_week, left, leaving, elsewhere = (
            makers.make_athlete(code)
            for code in ("last", "first", "gone", "next", "left", "leaving", "elsewhere")
        )
        makers.enrol(last_day, monday_class, until=today)
        makers.enrol(first_day, monday_class, since=today)
        makers.enrol(gone, monday_class, until=today - DAY)
        makers.enrol(next_week, monday_class, since=today + DAY)
        makers.enrol(elsewhere, makers.make_class())
        for athlete, day in ((left, today), (leaving, today + DAY)):
            makers.enrol(athlete, monday_class)
            Athlete.objects.filter(pk=athlete.pk).update(left=day)

        assert names(see(monday_class)) == ["ada", "bo", "first", "last", "leaving"]

    def test_each_gets_every_answer(self, monday_class: GymClass, floor: Setup) -> None:
        tonight = see(monday_class)

        for row in tonight.athletes:
            code = row.athlete.code
            assert row.readiness.athlete == code
            assert list(row.estimates) == ["LAND-1", "LAND-2", "HANG-1", "HANG-2", "HANG-3"]
            assert {estimate.athlete for estimate in row.estimates.values()} == {code}
            assert [plan.station for plan in row.suggestions["first"]] == ["jump", "bars"]
            assert {plan.athlete for plan in row.suggestions["first"]} == {code}
            assert row.last_seen == makers.TODAY - timedelta(weeks=1)
            assert row.starts_on == "first"
        assert [of(tonight, row.athlete).readiness.decision for row in tonight.athletes] == [
            "ready",
            "building",
        ]

    def test_a_class_that_nobody_is_in_has_no_answers(self, floor: Setup) -> None:
        tonight = see(makers.make_class())
        assert (tonight.athletes, tonight.checks) == ((), ())

    def test_checks_are_those_of_the_class_dealt_out_to_their_athletes(
        self, monday_class: GymClass, cy: Athlete
    ) -> None:
        makers.enrol(cy, monday_class)
        tonight = see(monday_class)

        assert tonight.checks
        assert [check.rank for check in tonight.checks] == list(range(1, len(tonight.checks) + 1))
        for row in tonight.athletes:
            mine = [check for check in tonight.checks if check.athlete == row.athlete.code]
            assert list(row.checks) == mine
        assert tonight.checks[0].athlete == "cy"  # never seen, so first
        assert {check.skill for check in tonight.checks} <= set(tonight.skills)


class TestHolds:
    def test_who_is_held_gets_no_variant_no_check_and_no_place_to_start(
        self, monday_class: GymClass, bo: Athlete, floor: Setup
    ) -> None:
        hold = makers.make_hold(bo)
        tonight = see(monday_class)

        row = of(tonight, bo)
        assert row.holds == (hold,)
        assert [plan.variant for plan in row.suggestions["first"]] == [None, None]
        assert {plan.why for plan in row.suggestions["first"]} == {"on hold: ask the lead"}
        assert (row.checks, row.starts_on) == ((), None)
        assert all(check.athlete != "bo" for check in tonight.checks)

    def test_a_hold_on_a_ladder_stops_that_ladder_alone(
        self, monday_class: GymClass, bo: Athlete, floor: Setup
    ) -> None:
        makers.make_hold(bo, ladders=[makers.make_ladder("hanging")])

        row = of(see(monday_class), bo)
        jump, bars = row.suggestions["first"]
        assert jump.variant is not None
        assert (bars.variant, bars.why) == (None, "this ladder is on hold: ask the lead")
        assert row.starts_on == "first"
        assert all(check.skill != "HANG-1" for check in row.checks)

    def test_who_comes_back_is_sent_a_step_lower(
        self, monday_class: GymClass, ada: Athlete, floor: Setup
    ) -> None:
        before = of(see(monday_class), ada).suggestions["first"][1]
        makers.make_hold(ada, starts=makers.TODAY - 3 * DAY, lifted=makers.TODAY)
        after = of(see(monday_class), ada).suggestions["first"][1]

        assert before.variant is not None
        assert after.variant is not None
        assert int(after.variant.removeprefix("bars")) < int(before.variant.removeprefix("bars"))
        assert after.why.startswith("easing back")


class TestTheFloor:
    def test_starts_are_shared_out_evenly_over_the_loops(
        self, monday_class: GymClass, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        loops = floor_of_loops(small_catalogue, 3)
        for _ in range(9):
            makers.enrol(makers.make_athlete(), monday_class)
        makers.make_hold(bo)

        starts = [row.starts_on for row in see(monday_class).athletes]
        sizes = [starts.count(loop.code) for loop in loops]
        assert sum(sizes) == 10
        assert sorted(sizes) == [3, 3, 4]

    def test_the_youngest_use_their_own_area_and_the_others_the_hall(
        self, monday_class: GymClass, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        hall = floor_of_loops(small_catalogue, 2)
        small = floor_of_loops(small_catalogue, 1, small=True)
        young = makers.make_class(small_area=True, athletes=[cy])

        assert list(see(young).loops) == small
        assert list(of(see(young), cy).suggestions) == [small[0].code]
        assert list(see(monday_class).loops) == hall

    def test_a_class_whose_area_has_no_loop_is_not_sent_to_another_area(
        self, cy: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        hall = floor_of_loops(small_catalogue, 2)

        assert list(see(makers.make_class(small_area=True, athletes=[cy])).loops) == []
        assert loops_for(None, hall) == hall

    def test_without_a_floor_there_is_still_readiness_and_what_to_check(
        self, monday_class: GymClass
    ) -> None:
        makers.make_setup(makers.TODAY, published=False)
        tonight = see(monday_class)

        assert (tonight.setup, tonight.loops) == (None, ())
        assert [row.readiness.decision for row in tonight.athletes] == ["ready", "building"]
        assert tonight.checks
        assert all((row.suggestions, row.starts_on) == ({}, None) for row in tonight.athletes)

    def test_the_floor_is_the_one_of_the_week(
        self, monday_class: GymClass, floor: Setup, small_catalogue: dict[str, Skill]
    ) -> None:
        later = makers.make_setup(makers.TODAY + timedelta(weeks=1))
        makers.make_loop(later, "other")

        assert see(monday_class).setup == floor
        assert see(monday_class, makers.TODAY + timedelta(weeks=1)).setup == later


class TestHowManyQueries:
    def count(self, gym_class: GymClass) -> int:
        with CaptureQueriesContext(connection) as asked:
            tonight = see(gym_class)
        assert len(tonight.athletes) == gym_class.enrolments.count()
        return len(asked)

    def test_a_large_class_asks_no_more_than_a_small_one(
        self, coach: StaffMember, floor: Setup, small_catalogue: dict[str, Skill]
    ) -> None:
        small, large = makers.make_class(), makers.make_class()
        ladder = makers.make_ladder("hanging")
        for gym_class, size in ((small, 5), (large, 30)):
            for number in range(size):
                athlete = makers.make_athlete()
                makers.enrol(athlete, gym_class)
                makers.make_attempt(athlete, small_catalogue["LAND-1"], coach=coach)
                if number % 2:
                    makers.make_hold(athlete, ladders=[ladder])
                makers.make_meeting(gym_class, makers.TODAY - number * DAY, present=[athlete])
        calibrate_gym(today=makers.TODAY)

        assert self.count(small) == self.count(large) <= 13
