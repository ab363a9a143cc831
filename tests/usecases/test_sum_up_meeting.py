"""After class: what today's checks changed, and whom nobody has seen for a while."""

from collections.abc import Iterable
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.models import Athlete, GymClass, Skill, StaffMember
from progress.usecases.sum_up_meeting import MeetingSummary, NewlySecure, sum_up_meeting
from tests import makers

pytestmark = pytest.mark.django_db

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)


def sum_up(gym_class: GymClass, today: date = makers.TODAY) -> MeetingSummary:
    return sum_up_meeting(gym_class=gym_class, today=today)


def names(changes: Iterable[NewlySecure]) -> list[tuple[str, str]]:
    return [(change.athlete.code, change.skill.code) for change in changes]


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    return small_catalogue["HANG-1"]


@pytest.fixture
def dot(
    monday_class: GymClass,
    small_catalogue: dict[str, Skill],
    hang: Skill,
    coach: StaffMember,
    lead: StaffMember,
) -> Athlete:
    """Holds the gate for certain, and has hung cleanly on one day: the floor asks for two."""
    athlete = makers.make_athlete("dot")
    makers.enrol(athlete, monday_class)
    days = [makers.TODAY - weeks * WEEK for weeks in (4, 3, 2, 1)]
    gate = small_catalogue["LAND-1"]
    makers.make_attempts(athlete, gate, ["clean"] * 8, days=days, coaches=(coach, lead))
    makers.make_attempts(athlete, hang, ["clean"] * 2, days=days[-1:], coaches=(coach, lead))
    return athlete


class TestTriesUnderAHold:
    def test_who_tried_what_a_hold_covers_is_named(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete, hang: Skill
    ) -> None:
        makers.make_hold(ada)
        makers.make_hold(bo, ladders=[hang.ladder])
        assert sum_up(monday_class).held == ()
        for athlete in (ada, bo):
            makers.make_attempt(athlete, hang, at=makers.TODAY)
        assert sum_up(monday_class).held == (ada, bo)

    def test_a_try_on_another_ladder_or_day_is_not_under_it(
        self, monday_class: GymClass, ada: Athlete, hang: Skill, small_catalogue: dict[str, Skill]
    ) -> None:
        makers.make_hold(ada, ladders=[hang.ladder])
        makers.make_attempt(ada, hang, at=makers.TODAY - DAY)
        makers.make_attempt(ada, small_catalogue["LAND-1"], at=makers.TODAY)
        assert sum_up(monday_class).held == ()


class TestWhatTodaysChecksChanged:
    def test_nothing_without_any(self, monday_class: GymClass, dot: Athlete) -> None:
        assert sum_up(monday_class) == MeetingSummary(0, 0, (), (), (), (), ())

    def test_a_skill_that_became_secure_and_who_became_ready_by_it(
        self, monday_class: GymClass, dot: Athlete, hang: Skill
    ) -> None:
        makers.make_attempt(dot, hang, at=makers.TODAY)
        summary = sum_up(monday_class)

        assert (summary.attempts, summary.athletes) == (1, 1)
        assert names(summary.secure) == [("dot", "HANG-1")]
        assert summary.ready == (dot,)
        assert summary.unsure == ()

    def test_who_was_ready_before_is_no_news(
        self, monday_class: GymClass, ada: Athlete, hang: Skill
    ) -> None:
        makers.make_attempt(ada, hang, at=makers.TODAY)
        summary = sum_up(monday_class)
        assert (summary.attempts, summary.secure, summary.ready) == (1, (), ())

    def test_a_gate_that_is_no_longer_secure(
        self, monday_class: GymClass, ada: Athlete, small_catalogue: dict[str, Skill]
    ) -> None:
        """A gate asks for clean tries in a row, and a miss breaks the row."""
        makers.make_attempt(ada, small_catalogue["LAND-1"], "miss", at=makers.TODAY)
        summary = sum_up(monday_class)

        assert names(summary.unsure) == [("ada", "LAND-1")]
        assert (summary.secure, summary.ready) == ((), ())

    def test_all_of_today_counts_as_now_and_none_of_it_as_before(
        self, monday_class: GymClass, dot: Athlete, hang: Skill
    ) -> None:
        """The first try at midnight made it secure already; the summary at night still says so."""
        for hour in (0, 12, 23):
            makers.make_attempt(dot, hang, at=makers.moment(hour=hour, minute=0))
        summary = sum_up(monday_class)

        assert summary.attempts == 3
        assert names(summary.secure) == [("dot", "HANG-1")]
        assert sum_up(monday_class) == summary

    def test_what_was_secure_by_yesterday_is_no_news_today(
        self, monday_class: GymClass, dot: Athlete, hang: Skill
    ) -> None:
        late = makers.moment(makers.TODAY - DAY, hour=23, minute=59)
        makers.make_attempt(dot, hang, at=late)
        makers.make_attempt(dot, hang, at=makers.TODAY)
        summary = sum_up(monday_class)
        assert (summary.attempts, summary.secure, summary.ready) == (1, (), ())

    def test_a_try_taken_back_changed_nothing(
        self, monday_class: GymClass, dot: Athlete, hang: Skill
    ) -> None:
        makers.make_correction(makers.make_attempt(dot, hang, at=makers.TODAY))
        assert sum_up(monday_class) == MeetingSummary(0, 0, (), (), (), (), ())

    def test_who_is_held_is_not_called_ready(
        self, monday_class: GymClass, dot: Athlete, hang: Skill
    ) -> None:
        makers.make_attempt(dot, hang, at=makers.TODAY)
        makers.make_hold(dot)
        summary = sum_up(monday_class)
        assert names(summary.secure) == [("dot", "HANG-1")]
        assert summary.ready == ()

    def test_each_child_is_counted_once_and_only_those_of_the_class(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete, cy: Athlete, hang: Skill
    ) -> None:
        for athlete in (ada, ada, bo, cy):
            makers.make_attempt(athlete, hang, at=makers.TODAY)
        summary = sum_up(monday_class)
        assert (summary.attempts, summary.athletes) == (3, 2)

    def test_a_class_that_nobody_is_in_has_nothing_to_tell(
        self, small_catalogue: dict[str, Skill]
    ) -> None:
        assert sum_up(makers.make_class()) == MeetingSummary(0, 0, (), (), (), (), ())


class TestWhoWasNotSeen:
    @pytest.fixture
    def meetings(self, monday_class: GymClass, cy: Athlete) -> None:
        """Three meetings with today's; Cy is in the class and was never checked."""
        makers.enrol(cy, monday_class)
        for weeks in (0, 1, 2):
            makers.make_meeting(monday_class, makers.TODAY - weeks * WEEK)

    @pytest.mark.parametrize("meetings", [0, 1, 2])
    def test_nobody_while_there_are_fewer_than_three_meetings(
        self, monday_class: GymClass, cy: Athlete, meetings: int
    ) -> None:
        makers.enrol(cy, monday_class)
        for weeks in range(meetings):
            makers.make_meeting(monday_class, makers.TODAY - weeks * WEEK)
        makers.make_meeting(makers.make_class(athletes=[cy]), makers.TODAY - WEEK)
        makers.make_meeting(monday_class, makers.TODAY + WEEK)
        assert sum_up(monday_class).unseen == ()

    @pytest.mark.usefixtures("meetings")
    def test_who_has_no_attempt_in_the_last_three(
        self, monday_class: GymClass, cy: Athlete
    ) -> None:
        """Ada and Bo were checked last week."""
        assert sum_up(monday_class).unseen == (cy,)

    @pytest.mark.usefixtures("meetings")
    @pytest.mark.parametrize(("days", "seen"), [(0, True), (14, True), (15, False)])
    def test_an_attempt_counts_from_the_day_of_the_third_last(
        self, monday_class: GymClass, cy: Athlete, hang: Skill, days: int, seen: bool
    ) -> None:
        at = makers.moment(makers.TODAY - days * DAY, hour=0 if seen else 23, minute=0)
        makers.make_attempt(cy, hang, "miss", at=at)
        assert (sum_up(monday_class).unseen == ()) is seen

    @pytest.mark.usefixtures("meetings")
    def test_neither_a_try_taken_back_nor_one_of_tomorrow_is_being_seen(
        self, monday_class: GymClass, cy: Athlete, hang: Skill
    ) -> None:
        makers.make_correction(makers.make_attempt(cy, hang, at=makers.TODAY))
        makers.make_attempt(cy, hang, at=makers.TODAY + DAY)
        assert sum_up(monday_class).unseen == (cy,)

    def test_older_meetings_do_not_stretch_the_time(
        self, monday_class: GymClass, cy: Athlete, hang: Skill
    ) -> None:
        makers.enrol(cy, monday_class)
        for weeks in range(6):
            makers.make_meeting(monday_class, makers.TODAY - weeks * WEEK)
        makers.make_attempt(cy, hang, at=makers.TODAY - 3 * WEEK)
        assert sum_up(monday_class).unseen == (cy,)

    @pytest.mark.usefixtures("meetings")
    def test_they_come_in_the_order_of_the_class(self, monday_class: GymClass, cy: Athlete) -> None:
        new = makers.make_athlete("abe")
        makers.enrol(new, monday_class)
        assert sum_up(monday_class).unseen == (new, cy)


def test_the_number_of_queries_is_the_same_for_five_children_and_for_thirty(
    hang: Skill, coach: StaffMember
) -> None:
    def count(size: int) -> int:
        athletes = [makers.make_athlete() for _ in range(size)]
        gym_class = makers.make_class(athletes=athletes)
        for weeks in range(3):
            makers.make_meeting(gym_class, makers.TODAY - weeks * WEEK, present=athletes)
        for athlete in athletes:
            makers.make_attempt(athlete, hang, at=makers.TODAY, coach=coach)
        sum_up(gym_class)
        with CaptureQueriesContext(connection) as asked:
            assert sum_up(gym_class).athletes == size
        return len(asked)

    assert (count(5), count(30)) == (10, 10)
