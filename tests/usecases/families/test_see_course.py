"""How many skills had been steady by the end of each month: nothing falls, nothing is invented."""

from datetime import date, timedelta

import pytest

from progress.models import Athlete, Skill, StaffMember
from progress.usecases.families.see_course import MOST_MONTHS, CoursePoint, see_courses
from progress.usecases.know_athletes import know_athletes
from tests import makers

pytestmark = pytest.mark.django_db

WEEK = timedelta(weeks=1)


def course(*children: Athlete, today: date = makers.TODAY) -> list[tuple[CoursePoint, ...]]:
    known = know_athletes(athletes=children, today=today)
    return [one.points for one in see_courses(known)]


def test_it_has_the_month_ends_since_the_first_check_and_today(ada: Athlete) -> None:
    """Ada was first checked on 2 February 2026 and is steady at two skills by its end."""
    assert course(ada) == [
        (CoursePoint(date(2026, 2, 28), 2), CoursePoint(makers.TODAY, 2)),
    ]


def test_what_was_steady_stays_counted_when_nobody_looks_for_long(ada: Athlete) -> None:
    (points,) = course(ada, today=date(2026, 7, 15))
    assert [point.skills for point in points] == [2] * 6
    known = know_athletes(athletes=[ada], today=date(2026, 7, 15))
    assert not known.picture.secure.any()  # stale by now


def test_a_month_counts_only_what_was_known_at_its_end(
    cy: Athlete, coach: StaffMember, lead: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    first = [date(2025, 11, 24), date(2025, 11, 3), date(2025, 11, 10), date(2025, 11, 17)]
    later = [day + 8 * WEEK for day in sorted(first)]
    for code, days in (("LAND-1", sorted(first)), ("HANG-1", later)):
        makers.make_attempts(
            cy, small_catalogue[code], ["clean"] * 12, days=days, coaches=[coach, lead]
        )
    (points,) = course(cy)

    assert [(point.day, point.skills) for point in points] == [
        (date(2025, 11, 30), 1),
        (date(2025, 12, 31), 1),
        (date(2026, 1, 31), 2),
        (date(2026, 2, 28), 2),
        (makers.TODAY, 2),
    ]


def test_each_child_has_its_own_beginning(
    ada: Athlete, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    makers.make_attempt(cy, small_catalogue["LAND-1"], "miss", at=date(2025, 12, 10))
    alone, both = course(ada), course(ada, cy)

    assert both[0] == alone[0]
    assert [point.day.month for point in both[1]] == [12, 1, 2, 3]
    assert {point.skills for point in both[1]} == {0}


def test_there_is_none_before_the_second_month_or_without_checks(
    ada: Athlete, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    assert course(cy) == [()]
    makers.make_attempt(cy, small_catalogue["LAND-1"], "miss", at=makers.TODAY)
    assert course(cy) == [()]
    assert course(ada, cy)[1] == ()


def test_no_more_than_a_year_is_shown(ada: Athlete) -> None:
    (points,) = course(ada, today=date(2027, 12, 1))
    assert len(points) == MOST_MONTHS
    assert points[-1].day == date(2027, 12, 1)


def test_the_last_point_is_what_the_page_says_today(ada: Athlete, bo: Athlete) -> None:
    known = know_athletes(athletes=[ada, bo], today=makers.TODAY)
    for row, one in enumerate(see_courses(known)):
        assert one.points[-1].skills >= int(known.picture.secure[row].sum())


def test_it_asks_the_database_nothing(ada: Athlete, django_assert_num_queries: object) -> None:
    known = know_athletes(athletes=[ada], today=makers.TODAY)
    with django_assert_num_queries(0):  # type: ignore[operator]
        see_courses(known)
