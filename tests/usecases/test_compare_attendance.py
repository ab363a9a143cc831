"""Attendance is compared on what the register says, and only where it could have shown a drop."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.attention import Attendance
from progress.models import Athlete, Enrolment, GymClass
from progress.usecases.compare_attendance import Compared, called_by_luck, compare_attendance
from progress.usecases.engine_inputs import Holds
from tests import makers

WEEK = timedelta(weeks=1)


def weeks_before(until: date, first: int, last: int) -> list[date]:
    """A day a week, the earliest first; 0 is ``until`` itself."""
    return [until - number * WEEK for number in range(first, last - 1, -1)]


def compared(athlete: Athlete, until: date) -> Compared | None:
    holds = Holds.read([athlete], until)
    return compare_attendance(athletes=[athlete], holds=holds, until=until).get(athlete.code)


def counts(athlete: Athlete, until: date) -> tuple[int, int, int, int]:
    found = compared(athlete, until)
    assert found is not None
    one = found.found
    return one.came_before, one.held_before, one.came_now, one.held_now


@pytest.fixture
def often_then_seldom(monday_class: GymClass, ada: Athlete, today: date) -> GymClass:
    """Ada came eight times in eight weeks, and twice in the eight after; today is in the later."""
    for day in weeks_before(today, 15, 8):
        makers.make_meeting(monday_class, day, present=[ada])
    for number, day in enumerate(weeks_before(today, 7, 0)):
        came = number < 2
        makers.make_meeting(monday_class, day, present=[ada] * came, away=[ada] * (not came))
    return monday_class


@pytest.mark.usefixtures("often_then_seldom")
class TestWhatCounts:
    def test_two_windows_of_eight_weeks_end_with_the_day(self, ada: Athlete, today: date) -> None:
        assert counts(ada, today) == (8, 8, 2, 8)
        found = compared(ada, today)
        assert found is not None
        assert found.found.dropped

    def test_a_day_later_the_windows_move_on(self, ada: Athlete, today: date) -> None:
        assert counts(ada, today + timedelta(days=6)) == (8, 8, 2, 8)
        assert counts(ada, today + WEEK) == (8, 8, 1, 7)

    def test_meetings_on_hold_do_not_count(self, ada: Athlete, today: date) -> None:
        makers.make_hold(ada, starts=today - 5 * WEEK, lifted=today - 2 * WEEK)
        assert counts(ada, today) == (8, 8, 2, 5)

    def test_with_a_hold_on_one_ladder_a_child_still_comes(self, ada: Athlete, today: date) -> None:
        makers.make_hold(ada, starts=today - 5 * WEEK, ladders=[makers.make_ladder("hanging")])
        assert counts(ada, today) == (8, 8, 2, 8)

    def test_meetings_before_the_enrolment_do_not_count(self, ada: Athlete, today: date) -> None:
        Enrolment.objects.filter(athlete=ada).update(since=today - 12 * WEEK)
        assert counts(ada, today) == (5, 5, 2, 8)

    def test_a_visit_to_another_class_does_not_count(self, ada: Athlete, today: date) -> None:
        other = makers.make_class("tuesday")
        makers.make_meeting(other, today - WEEK, present=[ada])
        assert counts(ada, today) == (8, 8, 2, 8)

    def test_a_meeting_whose_register_does_not_name_the_child_does_not_count(
        self, ada: Athlete, bo: Athlete, often_then_seldom: GymClass, today: date
    ) -> None:
        makers.make_meeting(often_then_seldom, today - timedelta(days=1), present=[bo])
        assert counts(ada, today) == (8, 8, 2, 8)

    def test_too_few_meetings_in_either_window_are_not_compared(
        self, ada: Athlete, bo: Athlete, today: date
    ) -> None:
        assert compared(bo, today) is None
        assert compared(ada, today - 5 * WEEK) is None
        assert compared(ada, today - 4 * WEEK) is not None

    def test_one_query_however_many(self, ada: Athlete, bo: Athlete, today: date) -> None:
        holds = Holds.read([ada, bo], today)
        with CaptureQueriesContext(connection) as asked:
            compare_attendance(athletes=[ada, bo], holds=holds, until=today)
        assert len(asked) == 1


class TestLuck:
    def luck(self, *numbers: int) -> float:
        return called_by_luck(Attendance("ada", *numbers, p=1.0, dropped=False))

    def test_who_always_came_can_never_be_called_by_luck(self) -> None:
        assert self.luck(8, 8, 8, 8) == 0.0

    def test_it_is_the_largest_p_that_would_be_called(self) -> None:
        """Twelve of sixteen: four or fewer of the later eight, 70 ways of 1820; five is 616."""
        assert self.luck(8, 8, 4, 8) == pytest.approx(70 / 1820)
        assert self.luck(6, 8, 6, 8) == pytest.approx(70 / 1820)

    def test_it_is_never_above_the_cut(self) -> None:
        assert all(self.luck(before, 8, now, 8) <= 0.05 for before in range(9) for now in range(9))
