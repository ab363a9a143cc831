"""Room for each tier, who waits in which order, and a place from a day on."""

from datetime import date, time, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, Enrolment, GymClass, SignOff, StaffMember, Tier
from progress.usecases.sign_offs.give_place import give_place, next_meeting
from progress.usecases.sign_offs.refused import SignOffRefused
from progress.usecases.sign_offs.see_places import TierPlaces, see_places
from progress.usecases.sign_offs.settle import settle
from tests import makers
from tests.usecases.sign_offs.conftest import NOW

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
TOMORROW = makers.TODAY + DAY


def make_for(*tiers: Tier, code: str, **values: Any) -> GymClass:
    gym_class = makers.make_class(code, **values)
    gym_class.tiers.set(tiers)
    return gym_class


def of_tier(number: int, today: date = makers.TODAY) -> TierPlaces:
    [found] = [one for one in see_places(today=today) if one.tier.number == number]
    return found


@pytest.fixture
def second(tiers: dict[int, Tier]) -> GymClass:
    """The only class meant for tier 2: Tuesdays, three places."""
    return make_for(tiers[2], code="second", weekday=1, places=3)


def moved(lead: StaffMember, code: str, days_ago: int = 0, **values: Any) -> SignOff:
    athlete = makers.make_athlete(code, tier=2)
    at = makers.moment(makers.TODAY - timedelta(days=days_ago), hour=10)
    return makers.make_sign_off(athlete, lead, decided_at=at, **values)


class TestRoom:
    def test_classes_for_a_tier_come_by_weekday_and_time_those_for_all_tiers_too(
        self, tiers: dict[int, Tier]
    ) -> None:
        make_for(tiers[2], code="wed", weekday=2)
        make_for(tiers[2], tiers[1], code="mon-late", weekday=0, starts_at=time(18))
        make_for(code="mon-all", weekday=0, starts_at=time(9))
        make_for(tiers[1], code="first-only")
        make_for(tiers[2], code="no-day", weekday=None, starts_at=None)

        codes = [one.gym_class.code for one in of_tier(2).classes]
        assert codes == ["mon-all", "mon-late", "wed", "no-day"]
        assert "first-only" in [one.gym_class.code for one in of_tier(1).classes]

    def test_a_class_without_a_number_is_not_counted(self, tiers: dict[int, Tier]) -> None:
        make_for(tiers[2], code="any", athletes=[makers.make_athlete()])
        [one] = of_tier(2).classes
        assert (one.enrolled, one.free, one.full, one.over) == (1, None, False, 0)

    def test_only_places_that_run_on_the_day_count_and_nobody_twice(self, second: GymClass) -> None:
        here, gone, left = (makers.make_athlete() for _ in range(3))
        makers.enrol(here, second)
        makers.enrol(here, second, since=makers.TODAY - DAY)
        makers.enrol(gone, second, until=makers.TODAY - DAY)
        makers.enrol(left, second)
        Athlete.objects.filter(pk=left.pk).update(left=makers.TODAY)

        [one] = of_tier(2).classes
        assert (one.enrolled, one.free, one.coming, one.leaving) == (1, 2, 0, 0)

    def test_a_place_given_for_later_is_not_free_now(self, second: GymClass) -> None:
        makers.enrol(makers.make_athlete(), second, until=makers.TODAY)
        makers.enrol(makers.make_athlete(), second)
        for _ in range(2):
            makers.enrol(makers.make_athlete(), second, since=makers.TODAY + 10 * DAY)

        [one] = of_tier(2).classes
        assert (one.enrolled, one.coming, one.leaving, one.free) == (2, 2, 1, 0)
        assert one.full

    def test_a_class_with_more_than_its_places_says_how_many(self, second: GymClass) -> None:
        for _ in range(5):
            makers.enrol(makers.make_athlete(), second)
        [one] = of_tier(2).classes
        assert (one.free, one.over, one.full) == (-2, 2, True)

    def test_an_empty_gym_has_no_tiers(self, db: None) -> None:
        assert see_places(today=makers.TODAY) == ()


class TestWaiting:
    def test_the_oldest_decision_comes_first_with_the_days_since(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        for code, days in (("new", 0), ("old", 30), ("middle", 4)):
            moved(lead, code, days)
        waiting = of_tier(2).waiting
        assert [(one.athlete.code, one.days) for one in waiting] == [
            ("old", 30),
            ("middle", 4),
            ("new", 0),
        ]
        assert of_tier(1).waiting == ()

    def test_the_classes_they_are_in_are_named(
        self, second: GymClass, tiers: dict[int, Tier], lead: StaffMember
    ) -> None:
        row = moved(lead, "dot")
        place = makers.enrol(row.athlete, make_for(tiers[1], code="first"))
        [one] = of_tier(2).waiting
        assert one.classes == (place,)

    @pytest.mark.parametrize("since", [makers.JOINED, makers.TODAY + 9 * DAY])
    def test_who_has_a_place_in_a_class_for_the_tier_or_will_have_does_not_wait(
        self, second: GymClass, lead: StaffMember, since: date
    ) -> None:
        makers.enrol(moved(lead, "dot").athlete, second, since=since)
        assert of_tier(2).waiting == ()

    def test_a_class_for_all_tiers_is_a_place_too(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        makers.enrol(moved(lead, "dot").athlete, make_for(code="all"))
        assert of_tier(2).waiting == ()

    def test_where_no_class_is_for_the_tier_there_is_nothing_to_wait_for(
        self, tiers: dict[int, Tier], lead: StaffMember
    ) -> None:
        makers.enrol(moved(lead, "dot").athlete, make_for(tiers[1], code="first"))
        assert of_tier(2).waiting == ()

    def test_who_stays_left_was_undone_or_is_in_another_tier_does_not_wait(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        moved(lead, "stays", stays=True)
        Athlete.objects.filter(pk=moved(lead, "left").athlete_id).update(left=makers.TODAY)
        moved(lead, "undone", undone_at=NOW, undone_by=lead)
        Athlete.objects.filter(pk=moved(lead, "back").athlete_id).update(tier=1)
        makers.make_athlete("always-in-tier-2", tier=2)
        assert of_tier(2).waiting == ()

    def test_only_the_latest_decision_counts(self, second: GymClass, lead: StaffMember) -> None:
        first = moved(lead, "dot", days_ago=20)
        tier = {"from_tier": makers.make_tier(2), "to_tier": makers.make_tier(1)}
        makers.make_sign_off(first.athlete, lead, decided_at=NOW - 9 * DAY, **tier)
        assert of_tier(2).waiting == ()
        makers.make_sign_off(first.athlete, lead, decided_at=NOW - 3 * DAY)
        assert [one.days for one in of_tier(2).waiting] == [3]

    def test_the_number_of_queries_does_not_grow(
        self, second: GymClass, tiers: dict[int, Tier], lead: StaffMember
    ) -> None:
        def count() -> int:
            with CaptureQueriesContext(connection) as asked:
                for tier in see_places(today=makers.TODAY):
                    for one in tier.waiting:
                        str([one.athlete, one.sign_off.from_tier, one.sign_off.to_tier])
                        str([place.gym_class for place in one.classes])
            return len(asked)

        moved(lead, "dot")
        before = count()
        for number in range(20):
            row = moved(lead, f"kid-{number}")
            makers.enrol(row.athlete, make_for(tiers[1], code=f"c-{number}"))
        assert count() == before <= 5


class TestGivingAPlace:
    def give(self, athlete: Athlete, gym_class: GymClass, lead: StaffMember, **more: Any) -> Any:
        values = {"from_day": TOMORROW, "now": NOW} | more
        return give_place(athlete=athlete, gym_class=gym_class, lead=lead, **values)

    def test_it_runs_from_the_day_and_the_old_one_ends_the_day_before(
        self, second: GymClass, tiers: dict[int, Tier], lead: StaffMember
    ) -> None:
        dot = moved(lead, "dot").athlete
        old = makers.enrol(dot, make_for(tiers[1], code="first"))
        other = makers.enrol(dot, make_for(tiers[1], code="also-first"))

        given = self.give(dot, second, lead, leave=[old])

        assert (given.since, given.until) == (TOMORROW, None)
        old.refresh_from_db()
        other.refresh_from_db()
        assert (old.until, other.until) == (makers.TODAY, None)
        assert of_tier(2).waiting == ()

    def test_a_full_class_is_refused_and_says_how_to_mend_it(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        for number in range(3):
            self.give(moved(lead, f"kid-{number}").athlete, second, lead)
        dot = moved(lead, "dot").athlete
        with pytest.raises(SignOffRefused, match=r"full: 3 places.*in the admin first"):
            self.give(dot, second, lead)
        GymClass.objects.filter(pk=second.pk).update(places=4)
        self.give(dot, second, lead)
        assert second.enrolments.count() == 4

    def test_a_class_that_fills_up_later_or_has_room_only_later_is_told_apart(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        leaves, later = TOMORROW + 7 * DAY, TOMORROW + 14 * DAY
        for _ in range(2):
            makers.enrol(makers.make_athlete(), second)
        makers.enrol(makers.make_athlete(), second, until=leaves)
        dot = moved(lead, "dot").athlete
        with pytest.raises(SignOffRefused, match="full"):
            self.give(dot, second, lead)
        self.give(dot, second, lead, from_day=leaves + DAY)

        eli = moved(lead, "eli").athlete
        GymClass.objects.filter(pk=second.pk).update(places=4)
        makers.enrol(makers.make_athlete(), second, since=later)
        with pytest.raises(SignOffRefused, match="full"):
            self.give(eli, second, lead)

    def test_a_class_not_for_the_tier_a_second_place_and_odd_days_are_refused(
        self, second: GymClass, tiers: dict[int, Tier], lead: StaffMember, coach: StaffMember
    ) -> None:
        dot = moved(lead, "dot").athlete
        with pytest.raises(SignOffRefused, match="not for the tier"):
            self.give(dot, make_for(tiers[1], code="first"), lead)
        with pytest.raises(SignOffRefused, match="today or later"):
            self.give(dot, second, lead, from_day=makers.TODAY - DAY)
        with pytest.raises(SignOffRefused, match="more than a year"):
            self.give(dot, second, lead, from_day=makers.TODAY + 400 * DAY)
        with pytest.raises(SignOffRefused, match="Only the programme lead"):
            self.give(dot, second, coach)
        self.give(dot, second, lead)
        with pytest.raises(SignOffRefused, match="has a place in Second already"):
            self.give(dot, second, lead)
        Athlete.objects.filter(pk=dot.pk).update(left=makers.TODAY)
        with pytest.raises(SignOffRefused, match="left the programme"):
            self.give(dot, make_for(code="all"), lead)
        assert Enrolment.objects.count() == 1

    def test_only_running_places_of_the_athletes_own_can_be_left(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        dot, room = moved(lead, "dot").athlete, make_for(code="all")
        theirs = makers.enrol(makers.make_athlete(), room)
        over = makers.enrol(dot, room, until=makers.TODAY)
        begins = makers.enrol(dot, make_for(code="other"), since=TOMORROW)
        for place, says in (
            (theirs, "no such place"),
            (over, "no such place"),
            (begins, "only on"),
        ):
            with pytest.raises(SignOffRefused, match=says):
                self.give(dot, second, lead, leave=[place])
        assert not second.enrolments.exists()

    @pytest.mark.parametrize(("weekday", "day"), [(0, 9), (1, 3), (6, 8), (None, 3)])
    def test_the_next_meeting_is_after_today(self, weekday: int | None, day: int) -> None:
        assert next_meeting(GymClass(weekday=weekday), makers.TODAY) == date(2026, 3, day)


class TestStaying:
    def test_a_family_that_wants_to_stay_waits_no_more_until_they_change_their_mind(
        self, second: GymClass, lead: StaffMember
    ) -> None:
        row = moved(lead, "dot")
        settle(sign_off=row, stays=True, lead=lead)
        assert of_tier(2).waiting == ()
        settle(sign_off=row, stays=False, lead=lead)
        assert len(of_tier(2).waiting) == 1

    def test_it_is_the_leads_and_of_the_latest_decision(
        self, lead: StaffMember, coach: StaffMember
    ) -> None:
        row = moved(lead, "dot", days_ago=2)
        with pytest.raises(SignOffRefused, match="Only the programme lead"):
            settle(sign_off=row, stays=True, lead=coach)
        makers.make_sign_off(row.athlete, lead, decided_at=NOW)
        with pytest.raises(SignOffRefused, match="another decision"):
            settle(sign_off=row, stays=True, lead=lead)
        assert not SignOff.objects.filter(stays=True).exists()
