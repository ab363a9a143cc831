"""Entries with a time of their own, two coaches at one sheet, and how much is looked up for it."""

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pytest_django import Settings

from progress.models import Athlete, Attempt, GymClass, Meeting, Setup, Skill, StaffMember
from progress.usecases.know_athletes import know_athletes
from progress.usecases.record_checks import Entry, Recorded
from progress.usecases.sheets.known import Known, day_of
from tests import makers
from tests.usecases.recording import NOW, problems, record
from tests.usecases.recording import entry as plain_entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("monday_class")]

DAY, MINUTE = timedelta(days=1), timedelta(minutes=1)
INSTANT = timedelta(microseconds=1)


def entry(number: int, at: datetime | None = None, **values: Any) -> Entry:
    return plain_entry(number, at=at, **values)


class TestTheTimeOfAnEntry:
    def test_each_is_kept_at_its_own_time_and_stored_when_it_arrived(self) -> None:
        times = [NOW - 40 * MINUTE, NOW - 5 * MINUTE]
        made = record(*(entry(number, at) for number, at in enumerate(times))).attempts

        assert [attempt.at for attempt in made] == times
        assert {attempt.stored_at for attempt in made} == {NOW}

    def test_each_is_kept_in_the_meeting_of_its_day(self) -> None:
        """The phone had no network last Monday; one try of today comes along."""
        last_week, today = record(entry(1, NOW - 7 * DAY), entry(2, NOW - MINUTE)).attempts

        assert last_week.meeting is not None
        assert today.meeting is not None
        assert last_week.meeting.day == makers.TODAY - 7 * DAY
        assert today.meeting.day == makers.TODAY
        assert Meeting.objects.count() == 2
        assert last_week.meeting.register.filter(present=True).count() == 2

    def test_only_days_with_a_try_get_a_meeting(self) -> None:
        record(entry(1, NOW - 7 * DAY))
        assert [meeting.day for meeting in Meeting.objects.all()] == [makers.TODAY - 7 * DAY]

    @pytest.mark.parametrize("ahead", [INSTANT, 5 * MINUTE, 10 * MINUTE])
    def test_a_clock_a_little_ahead_is_put_right_to_now(self, ahead: timedelta) -> None:
        (attempt,) = record(entry(1, NOW + ahead)).attempts
        assert attempt.at == NOW
        assert attempt.meeting is not None
        assert attempt.meeting.day == makers.TODAY

    def test_a_clock_ahead_past_midnight_makes_no_meeting_of_tomorrow(self) -> None:
        late = makers.moment(hour=23, minute=55)
        record(entry(1, late + 8 * MINUTE), now=late)
        assert Meeting.objects.get().day == makers.TODAY

    @pytest.mark.parametrize("ahead", [10 * MINUTE + INSTANT, DAY, 4000 * DAY])
    def test_a_clock_further_ahead_is_refused(self, ahead: timedelta) -> None:
        assert problems(entry(1, NOW - MINUTE), entry(2, NOW + ahead)) == [
            "Entry 2: its time is in the future; set the clock of the phone."
        ]

    def test_two_weeks_ago_is_taken_and_a_moment_more_is_refused(self) -> None:
        assert problems(entry(1, NOW - 14 * DAY - INSTANT)) == [
            "Entry 1: it was made more than 14 days ago; ask the lead to load it."
        ]
        (attempt,) = record(entry(1, NOW - 14 * DAY)).attempts
        assert attempt.at == NOW - 14 * DAY

    def test_a_time_without_a_zone_is_refused(self) -> None:
        naive = NOW.replace(tzinfo=None)
        assert problems(entry(1, naive)) == ["Entry 1: its time has no zone."]

    def test_who_was_in_the_class_that_day_counts_not_who_is_today(
        self, cy: Athlete, bo: Athlete, monday_class: GymClass
    ) -> None:
        bo.enrolments.update(until=makers.TODAY - 3 * DAY)
        makers.enrol(cy, monday_class, since=makers.TODAY)
        then = NOW - 7 * DAY

        assert problems(entry(1, then, athlete="cy"), entry(2, athlete="bo")) == [
            "Entry 1: 'cy' is not in this class on 23 February.",
            "Entry 2: 'bo' is not in this class today.",
        ]
        assert len(record(entry(1, then, athlete="bo"), entry(2, athlete="cy")).attempts) == 2

    def test_the_floor_of_that_day_counts_not_todays(
        self, floor: Setup, small_catalogue: dict[str, Skill]
    ) -> None:
        old = makers.make_setup(floor.week - 7 * DAY if floor.week else None)
        station = makers.make_station(old, "wall", variants=[small_catalogue["LAND-1"]])
        makers.make_loop(old, stations=[station])
        then = NOW - 7 * DAY

        (attempt,) = record(entry(1, then, variant="wall+0")).attempts
        assert attempt.variant is not None
        assert attempt.variant.station.setup == old
        assert len(problems(entry(2, then, variant="jump+0"), entry(3, variant="wall+0"))) == 2

    def test_sent_again_much_later_it_is_still_the_same(self) -> None:
        """Its time is long past two weeks by then, but it was stored in time."""
        sent = entry(1, NOW - DAY)
        record(sent)
        assert record(sent, now=NOW + 60 * DAY) == Recorded((), 1)


class TestTheOrderOfTries:
    def run(self, athlete: Athlete) -> int:
        picture = know_athletes(athletes=[athlete], today=makers.TODAY).picture
        return int(picture.evidence.run[0, picture.catalogue.position["LAND-1"]])

    @pytest.mark.parametrize("ahead", [-60 * MINUTE, 0 * MINUTE, 5 * MINUTE])
    @pytest.mark.parametrize(
        ("results", "run"), [("miss clean clean", 2), ("clean clean miss", 0), ("clean miss", 0)]
    )
    def test_the_last_try_stays_the_last_even_when_the_clock_is_ahead(
        self, cy: Athlete, monday_class: GymClass, results: str, run: int, ahead: timedelta
    ) -> None:
        """All times of a phone that is ahead become now; a gate must not mix its tries up."""
        makers.enrol(cy, monday_class)
        tries = [
            entry(number, NOW + ahead + timedelta(seconds=number), athlete="cy", result=result)
            for number, result in enumerate(results.split())
        ]
        made = record(*reversed(tries)).attempts

        at = [attempt.at for attempt in sorted(made, key=lambda attempt: attempt.uid)]
        assert at == sorted(set(at))
        assert at[-1] <= NOW
        assert self.run(cy) == run

    def test_entries_of_one_moment_keep_the_order_they_were_sent_in(self) -> None:
        at = [attempt.at for attempt in record(*(entry(n, NOW - DAY) for n in range(9))).attempts]
        assert at == sorted(set(at))
        assert at[-1] == NOW - DAY
        assert at[0] > NOW - DAY - timedelta(seconds=1)

    def test_one_without_a_time_was_made_as_it_arrived(self) -> None:
        first, second = record(entry(1), entry(2, NOW - MINUTE)).attempts
        assert (first.at, second.at) == (NOW, NOW - MINUTE)


class TestTheDayOfAnEntry:
    @pytest.mark.parametrize(
        ("at", "day"),
        [
            (None, makers.TODAY),
            (NOW - 7 * DAY, makers.TODAY - 7 * DAY),
            (NOW + 9 * MINUTE, makers.TODAY),
            (NOW + DAY, makers.TODAY),
            (NOW - 15 * DAY, makers.TODAY),
            (datetime(2026, 2, 27, 12, 0), makers.TODAY),
            (datetime(2026, 3, 1, 23, 59, 59, tzinfo=UTC), date(2026, 3, 1)),
            (datetime(2026, 3, 2, 1, 0, tzinfo=timezone(timedelta(hours=2))), date(2026, 3, 1)),
        ],
    )
    def test_is_the_venues_and_now_where_its_time_cannot_be_used(
        self, at: datetime | None, day: date
    ) -> None:
        assert day_of(entry(1, at), NOW) == day

    def test_follows_the_zone_of_the_venue(self, settings: Settings) -> None:
        settings.TIME_ZONE = "Pacific/Auckland"
        (attempt,) = record(entry(1, makers.moment(hour=10)), now=makers.moment(hour=12)).attempts
        assert attempt.meeting is not None
        assert attempt.meeting.day == makers.TODAY  # and it is tomorrow there already
        assert day_of(entry(2), makers.moment(hour=12)) == makers.TODAY + DAY


class TestTwoAtOneSheet:
    def test_two_coaches_who_check_the_same_child_both_count(
        self, coach: StaffMember, lead: StaffMember, ada: Athlete
    ) -> None:
        before = Attempt.objects.standing().of([ada]).count()
        record(entry(1, NOW), coach=coach)
        record(entry(2, NOW), coach=lead)

        made = Attempt.objects.standing().filter(uid__in=("u1", "u2"))
        assert {attempt.coach for attempt in made} == {coach, lead}
        assert Attempt.objects.standing().of([ada]).count() == before + 2
        assert Meeting.objects.count() == 1

    def test_one_entry_from_two_devices_is_stored_once(self) -> None:
        """A coach who carried on at another phone has the same entries on both."""
        record(entry(1, NOW - MINUTE), entry(2, NOW))
        again = record(entry(2, NOW), entry(1, NOW - MINUTE), now=NOW + MINUTE)
        assert again == Recorded((), 2)
        assert Attempt.objects.filter(uid__in=("u1", "u2")).count() == 2

    def test_the_meeting_opens_once_with_everybody_here(self, lead: StaffMember) -> None:
        record(entry(1))
        record(entry(2, athlete="bo"), coach=lead)
        register = Meeting.objects.get().register
        assert sorted(register.values_list("athlete__code", "present")) == [
            ("ada", True),
            ("bo", True),
        ]

    def test_an_attempt_makes_a_child_present_who_was_marked_away(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete, cy: Athlete
    ) -> None:
        makers.enrol(cy, monday_class)
        meeting = makers.make_meeting(monday_class, away=[ada, bo])
        record(entry(1), entry(2, athlete="cy"))
        assert dict(meeting.register.values_list("athlete__code", "present")) == {
            "ada": True,
            "bo": False,
            "cy": True,
        }


def test_what_is_looked_up_does_not_grow_with_the_sending(
    floor: Setup, monday_class: GymClass
) -> None:
    """Two queries for all, and one for the class and three for the floor of each day."""

    def count(size: int, days: tuple[datetime, ...], variant: str | None = None) -> int:
        entries = [entry(n, days[n % len(days)], variant=variant) for n in range(size)]
        with CaptureQueriesContext(connection) as asked:
            Known.read(monday_class, entries, NOW)
        return len(asked)

    both = (NOW - 7 * DAY, NOW)
    assert (count(2, both), count(40, both)) == (4, 4)
    assert (count(2, (NOW,), "jump+0"), count(40, (NOW,), "jump+0")) == (6, 6)
