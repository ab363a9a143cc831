"""What a coach may fix by hand, what is refused, and what is kept."""

from datetime import timedelta

import pytest

from progress.models import Athlete, GymClass, PlanChoice, Setup, Skill, StaffMember, Station
from progress.usecases.plans.choose_by_hand import LONGEST, ChoiceRefused
from progress.usecases.see_class import see_class
from tests import makers
from tests.usecases.plans.conftest import Mover

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def variant_of(gym_class: GymClass, athlete: Athlete, station: str) -> str | None:
    tonight = see_class(gym_class=gym_class, today=makers.TODAY)
    row = next(each for each in tonight.athletes if each.athlete == athlete)
    return next(plan.variant for plan in row.suggestions["first"] if plan.station == station)


class TestWhoMay:
    def test_a_coach_and_the_lead_may(
        self, move: Mover, bo: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        for number, person in enumerate((coach, lead)):
            made = move(bo, "jump", f"jump{number - 1:+d}", coach=person).made
            assert made is not None
            assert made.chosen_by == person

    def test_the_desk_and_who_has_left_may_not(
        self, move: Mover, bo: Athlete, desk: StaffMember
    ) -> None:
        gone = makers.make_staff("gone", active=False)
        for person in (desk, gone):
            with pytest.raises(ChoiceRefused, match="Only a coach or the lead"):
                move(bo, "jump", "jump-1", coach=person)
        assert not PlanChoice.objects.exists()


class TestWhatIsRefused:
    def test_a_variant_whose_needs_are_not_held_is_refused_with_the_need(
        self, move: Mover, bo: Athlete
    ) -> None:
        with pytest.raises(ChoiceRefused, match=r"Bo, bars.1: not yet: needs Hang for ten seconds"):
            move(bo, "bars", "bars+1")
        assert not PlanChoice.objects.exists()

    def test_a_child_on_hold_is_sent_nowhere(self, move: Mover, bo: Athlete) -> None:
        makers.make_hold(bo)
        with pytest.raises(ChoiceRefused, match="on hold: ask the lead"):
            move(bo, "jump", "jump-1")

    def test_the_plan_of_a_day_that_is_over_stays(self, move: Mover, bo: Athlete) -> None:
        with pytest.raises(ChoiceRefused, match="a day that is over"):
            move(bo, "jump", "jump-1", day=makers.TODAY - DAY)

    def test_stations_and_loops_of_another_floor_are_refused(
        self, move: Mover, bo: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        later = makers.make_setup(makers.TODAY + 7 * DAY)
        pole = makers.make_station(later, "pole", variants=[small_catalogue["LAND-1"]])
        makers.make_loop(later, "second", stations=[pole])

        for station, to in (("pole", "pole+0"), ("", "second"), ("jump", "bars+0")):
            with pytest.raises(ChoiceRefused, match=r"does not stand|no such variant"):
                move(bo, station, to)

    def test_a_loop_of_the_youngest_is_not_for_a_class_of_the_hall(
        self, move: Mover, bo: Athlete, floor: Setup
    ) -> None:
        makers.make_loop(floor, "tiny", area=makers.make_area("small", small=True))
        with pytest.raises(ChoiceRefused, match="does not stand"):
            move(bo, "", "tiny")

    def test_somebody_of_another_class_is_refused(self, move: Mover, cy: Athlete) -> None:
        with pytest.raises(ChoiceRefused, match="Cy is not in this class"):
            move(cy, "jump", "jump-1")

    def test_a_reason_may_be_as_long_as_it_may_and_no_longer(
        self, move: Mover, bo: Athlete
    ) -> None:
        move(bo, "jump", "jump-1", reason="x" * LONGEST)
        with pytest.raises(ChoiceRefused, match="this has 201"):
            move(bo, "jump", "jump-1", reason="x" * (LONGEST + 1))


class TestWhatIsKept:
    def test_the_choice_is_followed(self, move: Mover, bo: Athlete, monday_class: GymClass) -> None:
        for to in ("jump-1", "jump+0"):
            move(bo, "jump", to)
            assert variant_of(monday_class, bo, "jump") == to
        move(bo, "jump", "")
        assert variant_of(monday_class, bo, "jump") is None

    def test_a_double_tap_stores_one(self, move: Mover, bo: Athlete) -> None:
        first, second = move(bo, "jump", "jump-1"), move(bo, "jump", "jump-1")

        assert first.made == second.made
        assert PlanChoice.objects.count() == 1

    def test_a_later_choice_takes_the_earlier_ones_place_and_keeps_it(
        self, move: Mover, bo: Athlete, lead: StaffMember
    ) -> None:
        move(bo, "jump", "jump-1", reason="Tired today")
        second = move(bo, "jump", "jump+0", coach=lead)

        kept = PlanChoice.objects.get(taken_back_at__isnull=False)
        assert (kept.variant.code, kept.reason) == ("jump-1", "Tired today")  # type: ignore[union-attr]
        assert list(PlanChoice.objects.standing()) == [second.made]
        assert second.earlier == kept

    def test_one_station_and_the_loop_are_chosen_apart(self, move: Mover, bo: Athlete) -> None:
        move(bo, "jump", "jump-1")
        move(bo, "bars", "bars-1")
        move(bo, "", "first")

        assert PlanChoice.objects.standing().count() == 3

    def test_it_holds_for_that_day_alone(
        self, move: Mover, bo: Athlete, monday_class: GymClass
    ) -> None:
        Setup.objects.update(week=None)
        move(bo, "jump", "jump-1", day=makers.TODAY + 7 * DAY)

        assert variant_of(monday_class, bo, "jump") != "jump-1"

    def test_a_choice_on_the_floor_that_stood_before_gives_way_to_one_on_this_floor(
        self,
        move: Mover,
        bo: Athlete,
        floor: Setup,
        small_catalogue: dict[str, Skill],
        monday_class: GymClass,
    ) -> None:
        move(bo, "jump", "jump-1")
        week = floor.week
        Setup.objects.filter(pk=floor.pk).update(week=None, published=False, stood_in=week)
        fresh = makers.make_setup(week)
        jump = makers.make_station(fresh, "jump")
        for step in (-1, 0):
            makers.make_variant(jump, small_catalogue["LAND-1"], step=step)
        makers.make_loop(fresh, "first", stations=[jump])
        assert variant_of(monday_class, bo, "jump") == "jump-1"

        move(bo, "jump", "jump+0")

        assert variant_of(monday_class, bo, "jump") == "jump+0"
        assert PlanChoice.objects.standing().get().station == Station.objects.get(setup=fresh)
