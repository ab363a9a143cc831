"""Which classes there are, for a member of staff who arrives."""

from datetime import date, time, timedelta

import pytest
from pytest_django import DjangoAssertNumQueries

from progress.models import Athlete, GymClass, StaffMember
from progress.usecases.see_today import ClassCard, classes_for
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def cards(staff: StaffMember, today: date = makers.TODAY) -> dict[str, ClassCard]:
    return {card.gym_class.code: card for card in classes_for(staff=staff, today=today)}


def test_todays_come_first_and_then_the_week_goes_round(coach: StaffMember) -> None:
    for code, weekday in (("mon", 0), ("tue", 1), ("wed", 2), ("sun", 6), ("any", None)):
        makers.make_class(code, weekday=weekday)
    wednesday = makers.TODAY + 2 * DAY

    found = classes_for(staff=coach, today=wednesday)

    assert [card.gym_class.code for card in found] == ["wed", "sun", "mon", "tue", "any"]
    assert [card.is_today for card in found] == [True, False, False, False, False]


def test_of_one_day_my_own_come_first_and_then_the_clock_decides(coach: StaffMember) -> None:
    early, late = time(15, 0), time(18, 0)
    makers.make_class("theirs-late", starts_at=late)
    makers.make_class("theirs-early", starts_at=early)
    makers.make_class("untimed", starts_at=None)
    makers.make_class("mine-late", starts_at=late, coaches=[coach])
    makers.make_class("mine-early", starts_at=early, coaches=[coach])

    assert list(cards(coach)) == [
        "mine-early",
        "mine-late",
        "theirs-early",
        "theirs-late",
        "untimed",
    ]


def test_a_card_names_the_coaches_and_says_whether_it_is_mine(
    coach: StaffMember, lead: StaffMember, desk: StaffMember
) -> None:
    makers.make_class("both", coaches=[lead, coach])
    makers.make_class("nobody")

    found = cards(coach)
    assert (found["both"].coaches, found["both"].mine) == ("Kim, Lee", True)
    assert (found["nobody"].coaches, found["nobody"].mine) == ("", False)
    assert not cards(desk)["both"].mine


def test_a_card_counts_the_athletes_that_the_class_page_shows(
    monday_class: GymClass, coach: StaffMember, lead: StaffMember
) -> None:
    """Two coaches must not count everybody twice, nor a place that was given twice."""
    monday_class.coaches.add(lead)
    twice, gone, later = (makers.make_athlete(code) for code in ("twice", "gone", "later"))
    makers.enrol(twice, monday_class, until=makers.TODAY)
    makers.enrol(twice, monday_class, since=makers.TODAY)
    makers.enrol(gone, monday_class, until=makers.TODAY - DAY)
    makers.enrol(later, monday_class, since=makers.TODAY + DAY)
    for code, left in (("left", makers.TODAY), ("leaving", makers.TODAY + DAY)):
        makers.enrol(makers.make_athlete(code, left=left), monday_class)

    assert cards(coach)["monday"].athletes == 4
    assert monday_class.athletes_on(makers.TODAY).count() == 4


def test_an_empty_class_counts_nobody(coach: StaffMember, cy: Athlete) -> None:
    makers.make_class("empty")
    assert cards(coach)["empty"].athletes == 0


def test_two_queries_are_asked_whatever_the_number_of_classes(
    coach: StaffMember, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(7):
        makers.make_class(coaches=[coach], athletes=[makers.make_athlete()])
    with django_assert_num_queries(2):
        assert len(cards(coach)) == 7
