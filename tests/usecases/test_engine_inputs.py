"""What the engine is told of the log: which attempts count on which day."""

from dataclasses import asdict
from datetime import date, datetime, time, timedelta
from random import Random
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from pytest_django import DjangoAssertNumQueries, Settings

from progress.engine.log import Log
from progress.models import Athlete, Attempt, Skill, StaffMember
from progress.usecases.engine_inputs import Holds, away_lately, read_log
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def log_of(athletes: list[Athlete], until: date = makers.TODAY) -> Log:
    return read_log(Skill.objects.as_catalogue(), athletes, until)


def same(one: Log, other: Log) -> bool:
    """Whether two logs say the same, names and all."""
    other_columns = asdict(other)
    return all(np.array_equal(values, other_columns[name]) for name, values in asdict(one).items())


class TestWhichDayAnAttemptBelongsTo:
    """Clocks go forward or back on most of these days, so that they last 23 or 25 hours."""

    days = pytest.mark.parametrize(
        ("zone", "day"),
        [
            ("Europe/London", date(2026, 3, 2)),
            ("Europe/London", date(2026, 3, 29)),
            ("Europe/London", date(2026, 10, 25)),
            ("America/New_York", date(2026, 3, 8)),
            ("America/New_York", date(2026, 11, 1)),
            ("Pacific/Auckland", date(2026, 4, 5)),
            ("Africa/Cairo", date(2026, 4, 24)),
        ],
    )

    @days
    def test_a_day_lasts_until_midnight_at_the_venue(
        self, settings: Settings, cy: Athlete, zone: str, day: date
    ) -> None:
        settings.TIME_ZONE = zone
        skill = makers.make_skill()
        late = datetime.combine(day, time(23, 30), ZoneInfo(zone))
        after_midnight = datetime.combine(day + DAY, time(0, 30), ZoneInfo(zone))
        makers.make_attempt(cy, skill, "miss", at=late)
        makers.make_attempt(cy, skill, "clean", at=after_midnight)

        assert list(log_of([cy], day - DAY).result) == []
        assert list(log_of([cy], day).result) == [0]
        assert list(log_of([cy], day + DAY).result) == [0, 2]
        assert list(log_of([cy], day + DAY).day - day.toordinal()) == [0, 1]

    @days
    def test_the_time_of_day_is_the_one_on_the_venues_clock(
        self, settings: Settings, cy: Athlete, zone: str, day: date
    ) -> None:
        settings.TIME_ZONE = zone
        at = datetime.combine(day, time(18, 0), ZoneInfo(zone))
        makers.make_attempt(cy, makers.make_skill(), at=at)

        assert list(log_of([cy], day).when) == [day.toordinal() + 0.75]

    def test_one_moment_may_belong_to_two_days_in_two_places(
        self, settings: Settings, cy: Athlete, today: date
    ) -> None:
        makers.make_attempt(cy, makers.make_skill(), at=makers.moment(today, 23, 30))

        assert len(log_of([cy], today)) == 1
        settings.TIME_ZONE = "Pacific/Auckland"
        assert len(log_of([cy], today)) == 0
        assert len(log_of([cy], today + DAY)) == 1


class TestWhichAttemptsCount:
    def test_a_corrected_attempt_gives_way_to_its_correction(self, cy: Athlete) -> None:
        first = makers.make_attempt(cy, makers.make_skill(), "clean")
        makers.make_correction(makers.make_correction(first, "assisted"), "miss")

        assert list(log_of([cy]).result) == [0]

    def test_an_attempt_taken_back_does_not_count(self, cy: Athlete) -> None:
        skill = makers.make_skill()
        makers.make_attempt(cy, skill, "miss")
        makers.make_correction(makers.make_attempt(cy, skill, "clean"))

        assert list(log_of([cy]).result) == [0]

    def test_other_athletes_attempts_stay_out(self, cy: Athlete) -> None:
        makers.make_attempt(makers.make_athlete("other"), makers.make_skill())

        assert len(log_of([cy])) == 0

    def test_an_attempt_keeps_its_coach_and_variant(self, cy: Athlete, coach: StaffMember) -> None:
        skill = makers.make_skill("LAND-1")
        station = makers.make_station(makers.make_setup(), "jump", variants=[skill])
        makers.make_attempt(cy, skill, coach=coach, variant=station.variants.get())
        makers.make_attempt(cy, skill, at=makers.moment(hour=18))

        log = log_of([cy])
        assert (log.coaches, log.variants) == (("kim",), ("jump+0",))
        assert (list(log.coach), list(log.variant)) == ([0, -1], [0, -1])

    def test_a_coach_of_the_gym_is_named_though_these_athletes_never_met_them(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember, today: date
    ) -> None:
        """Or a gate would ask for one coach on one page and for two on another.

        Who recorded a try that was corrected since is a coach of the gym all the same.
        """
        skill, other = makers.make_skill(), makers.make_athlete("other")
        makers.make_attempt(cy, skill, coach=lead)
        makers.make_attempt(other, skill, coach=coach)
        makers.make_attempt(other, skill, coach=makers.make_staff("new"), at=today + DAY)
        makers.make_correction(makers.make_attempt(other, skill, coach=makers.make_staff("slip")))

        log = log_of([cy])
        assert log.coaches == ("lee", "kim", "slip")
        assert [log.coaches[number] for number in log.coach] == ["lee"]

    def test_the_order_of_storing_does_not_matter(
        self, cy: Athlete, ada: Athlete, coach: StaffMember, small_catalogue: dict[str, Skill]
    ) -> None:
        stored = list(Attempt.objects.values("skill_id", "at", "result", "coach_id"))
        Random(1).shuffle(stored)
        Attempt.objects.bulk_create(
            Attempt(uid=makers.next_code("again"), athlete=cy, **values) for values in stored
        )

        log = log_of([ada, cy])
        assert same(log.of([0]), Log(**{**vars(log.of([1])), "athletes": ("ada",)}))

    def test_one_query_reads_the_log_and_one_the_coaches(
        self, ada: Athlete, django_assert_num_queries: DjangoAssertNumQueries
    ) -> None:
        catalogue = Skill.objects.as_catalogue()
        with django_assert_num_queries(2):
            read_log(catalogue, [ada], makers.TODAY)


class TestManyAthletes:
    """Past a few hundred athletes another query is asked; it must not give another answer."""

    @pytest.fixture
    def everybody(self, small_catalogue: dict[str, Skill], coach: StaffMember) -> list[Athlete]:
        """521 athletes, every 40th of them with attempts, the first and the last among them."""
        many = Athlete.objects.bulk_create(
            Athlete(code=f"m{number:03d}", tier_id=1) for number in range(521)
        )
        for number, athlete in enumerate(many[::40]):
            skill = small_catalogue["LAND-1" if number % 2 else "HANG-1"]
            days = [makers.TODAY - timedelta(weeks=week) for week in (3, 2, 1)]
            makers.make_attempts(athlete, skill, ["miss", "clean"], days=days, coaches=[coach])
        return many

    def test_a_whole_gym_gives_the_log_that_few_athletes_give(
        self, everybody: list[Athlete]
    ) -> None:
        whole = log_of(everybody)

        assert len(whole) == Attempt.objects.count() == 28
        assert same(whole.of(range(0, 521, 40)), log_of(everybody[::40]))

    def test_so_does_a_part_of_a_gym_with_others_in_between(self, everybody: list[Athlete]) -> None:
        part = [athlete for number, athlete in enumerate(everybody) if number not in (40, 41, 45)]

        found = log_of(part)
        assert found.athletes == tuple(athlete.code for athlete in part)
        rows = [row for row, athlete in enumerate(part) if athlete.attempts.exists()]
        assert len(rows) == 13
        assert same(found.of(rows), log_of([part[row] for row in rows]))

    def test_holds_and_absences_are_those_of_each_athlete(self, everybody: list[Athlete]) -> None:
        held, away, other = everybody[7], everybody[8], everybody[9]
        makers.make_hold(held)
        meeting = makers.make_meeting(
            makers.make_class(), makers.TODAY - 30 * DAY, present=[away], away=[other]
        )
        assert meeting.register.count() == 2

        holds = Holds.read(everybody, makers.TODAY)
        assert [each for each in everybody if holds.in_force(each)] == [held]
        assert away_lately(everybody, makers.TODAY, 21) == {away.pk}
