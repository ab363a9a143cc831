"""A coach stops an athlete; the lead lifts it, and the athlete then eases back."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.rules import Rules
from progress.models import Athlete, GymClass, Hold, Ladder, Role, Setup, Skill, StaffMember
from progress.usecases.engine_inputs import Holds, as_terms
from progress.usecases.place_hold import HoldRefused, lift_hold, place_hold
from progress.usecases.see_class import see_class
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


@pytest.fixture
def landing(small_catalogue: dict[str, Skill]) -> Ladder:
    return small_catalogue["LAND-1"].ladder


@pytest.fixture
def hanging(small_catalogue: dict[str, Skill]) -> Ladder:
    return small_catalogue["HANG-1"].ladder


def place(
    athlete: Athlete,
    coach: StaffMember,
    *,
    kind: str = "injury",
    today: date = makers.TODAY,
    reason: str = "",
    ladders: Sequence[Ladder] = (),
) -> Hold:
    return place_hold(
        athlete=athlete, kind=kind, coach=coach, today=today, reason=reason, ladders=ladders
    )


def held_on(athlete: Athlete, day: date) -> bool:
    return Hold.objects.on(day).filter(athlete=athlete).exists()


class TestPlacing:
    def test_a_hold_stops_everything_from_today_and_says_who_placed_it(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        place(cy, coach, kind="wish", reason="  Wants a\n break ")

        hold = Hold.objects.get()
        assert (hold.athlete, hold.starts, hold.lifted) == (cy, makers.TODAY, None)
        assert (hold.kind, hold.reason, hold.placed_by) == ("wish", "Wants a break", coach)
        assert hold.review == makers.TODAY + 14 * DAY
        assert not hold.ladders.exists()

    def test_the_review_day_lifts_nothing(self, cy: Athlete, coach: StaffMember) -> None:
        hold = place(cy, coach)
        assert hold.review is not None
        days = [makers.TODAY, hold.review, hold.review + DAY, hold.review + 365 * DAY]
        assert [held_on(cy, day) for day in days] == [True] * 4
        assert not held_on(cy, makers.TODAY - DAY)

    def test_a_ladder_hold_stops_its_ladders_alone(
        self, cy: Athlete, coach: StaffMember, landing: Ladder, hanging: Ladder
    ) -> None:
        place(cy, coach, ladders=[hanging])

        (term,) = as_terms([cy], Holds.read([cy], makers.TODAY), Rules(), away=set())
        assert (term.held, term.held_ladders) == (False, {hanging.code})

    def test_tonights_plan_knows_of_it_at_once(
        self, monday_class: GymClass, bo: Athlete, coach: StaffMember, floor: Setup
    ) -> None:
        place(bo, coach)
        ada, held = see_class(gym_class=monday_class, today=makers.TODAY).athletes
        assert (held.athlete, len(held.holds), held.checks, held.starts_on) == (bo, 1, (), None)
        assert ada.starts_on == "first"

    @pytest.mark.parametrize(
        ("kind", "reason", "said"),
        [
            ("ankle", "", "Choose one of the reasons"),
            ("", "", "Choose one of the reasons"),
            ("injury", "x" * 121, "Keep the remark to 120 characters; this has 121"),
        ],
    )
    def test_what_cannot_be_kept_is_refused(
        self, cy: Athlete, coach: StaffMember, kind: str, reason: str, said: str
    ) -> None:
        with pytest.raises(HoldRefused, match=said):
            place(cy, coach, kind=kind, reason=reason)
        assert not Hold.objects.exists()

    @pytest.mark.parametrize("change", [{"role": "desk"}, {"active": False}])
    def test_only_an_active_coach_or_lead_places_one(
        self, cy: Athlete, change: dict[str, Any]
    ) -> None:
        with pytest.raises(HoldRefused, match="Only a coach or the lead"):
            place(cy, makers.make_staff(**change))
        assert not Hold.objects.exists()

    def test_a_lead_who_has_left_lifts_none(self, cy: Athlete, coach: StaffMember) -> None:
        hold = place(cy, coach)
        with pytest.raises(HoldRefused, match="Only the lead"):
            lift_hold(
                hold=hold, lead=makers.make_staff(role=Role.LEAD, active=False), today=makers.TODAY
            )
        assert Hold.objects.on(makers.TODAY).get() == hold

    def test_a_remark_may_be_as_long_as_there_is_room(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        hold = place(cy, coach, reason="x" * 60 + "\n\n" + "y" * 59)
        hold.refresh_from_db()
        assert len(hold.reason) == 120


class TestTwice:
    def test_two_taps_place_one(
        self, cy: Athlete, coach: StaffMember, landing: Ladder, hanging: Ladder
    ) -> None:
        for ladders in ((), (hanging, landing)):
            first, second = (place(cy, coach, ladders=ladders) for _ in range(2))
            assert first == second
        assert Hold.objects.count() == 2

    def test_the_order_of_the_ladders_makes_no_other_hold(
        self, cy: Athlete, coach: StaffMember, landing: Ladder, hanging: Ladder
    ) -> None:
        ladders = [landing, hanging]
        assert place(cy, coach, ladders=ladders) == place(cy, coach, ladders=ladders[::-1])

    def test_a_later_tap_for_another_reason_keeps_the_first(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        first = place(cy, coach, reason="Came off the bars")
        again = place(cy, lead, kind="wish", today=makers.TODAY + DAY)
        assert again == first
        assert (again.kind, again.reason, again.placed_by) == (
            "injury",
            "Came off the bars",
            coach,
        )

    def test_one_of_another_reach_is_another_hold(
        self, cy: Athlete, coach: StaffMember, landing: Ladder, hanging: Ladder
    ) -> None:
        reaches = [(landing,), (), (hanging,), (landing, hanging)]
        assert len({place(cy, coach, ladders=ladders).pk for ladders in reaches}) == 4

    def test_another_athlete_gets_their_own(
        self, cy: Athlete, ada: Athlete, coach: StaffMember
    ) -> None:
        assert place(cy, coach) != place(ada, coach)

    def test_after_one_was_lifted_a_new_one_can_be_placed(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        first = place(cy, coach)
        lift_hold(hold=first, lead=lead, today=makers.TODAY + DAY)
        assert place(cy, coach, today=makers.TODAY + DAY) != first

    def test_taps_that_arrive_together_wait_for_each_other(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        """SQLite lets one writer in at a time anyway; elsewhere the athlete's row is locked."""
        with CaptureQueriesContext(connection) as asked:
            place(cy, coach)
        table = f'FROM "{Athlete._meta.db_table}"'
        locks = [
            query["sql"]
            for query in asked.captured_queries
            if "FOR UPDATE" in query["sql"] and table in query["sql"]
        ]
        assert len(locks) == connection.features.has_select_for_update


class TestLifting:
    def test_the_lead_lifts_it_and_today_is_the_first_day_back(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        hold, back = place(cy, coach), makers.TODAY + 9 * DAY
        lift_hold(hold=hold, lead=lead, today=back)

        hold.refresh_from_db()
        assert (hold.lifted, hold.lifted_by) == (back, lead)
        assert [held_on(cy, day) for day in (back - DAY, back)] == [True, False]

    def test_nobody_but_the_lead_does_not_even_who_placed_it(
        self, cy: Athlete, coach: StaffMember, desk: StaffMember
    ) -> None:
        hold = place(cy, coach)
        for other in (coach, desk):
            with pytest.raises(HoldRefused, match="Only the lead lifts a hold"):
                lift_hold(hold=hold, lead=other, today=makers.TODAY + DAY)
        assert held_on(cy, makers.TODAY + DAY)

    def test_lifting_twice_keeps_the_first_day_and_name(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        hold = place(cy, coach)
        for days, who in ((3, lead), (5, makers.make_staff("second", role=Role.LEAD))):
            lift_hold(hold=hold, lead=who, today=makers.TODAY + days * DAY)
        hold.refresh_from_db()
        assert (hold.lifted, hold.lifted_by) == (makers.TODAY + 3 * DAY, lead)

    def test_one_that_has_not_started_is_not_lifted(self, cy: Athlete, lead: StaffMember) -> None:
        hold = makers.make_hold(cy, starts=makers.TODAY + DAY)
        with pytest.raises(HoldRefused, match="has not started yet"):
            lift_hold(hold=hold, lead=lead, today=makers.TODAY)
        hold.refresh_from_db()
        assert hold.lifted is None

    def test_lifting_one_leaves_the_others_in_force(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember, hanging: Ladder
    ) -> None:
        everything, ladder = place(cy, coach), place(cy, coach, ladders=[hanging])
        lift_hold(hold=everything, lead=lead, today=makers.TODAY + DAY)
        assert list(Hold.objects.on(makers.TODAY + DAY)) == [ladder]

    @pytest.mark.parametrize(("days", "easing"), [(-1, False), (0, True), (13, True), (14, False)])
    def test_the_athlete_then_eases_back_for_two_weeks(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember, days: int, easing: bool
    ) -> None:
        back = makers.TODAY + 7 * DAY
        lift_hold(hold=place(cy, coach), lead=lead, today=back)

        (term,) = as_terms([cy], Holds.read([cy], back + days * DAY), Rules(), away=set())
        assert term.easing_back is easing

    def test_the_floor_sends_who_eases_back_a_step_lower(
        self,
        monday_class: GymClass,
        ada: Athlete,
        coach: StaffMember,
        lead: StaffMember,
        floor: Setup,
    ) -> None:
        def bars() -> str:
            mine = see_class(gym_class=monday_class, today=makers.TODAY).athletes[0]
            return str(mine.suggestions["first"][1].variant)

        before = bars()
        hold = place(ada, coach, today=makers.TODAY - 3 * DAY)
        lift_hold(hold=hold, lead=lead, today=makers.TODAY)
        assert (before, bars()) == ("bars+1", "bars+0")
