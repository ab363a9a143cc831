"""A meeting opens itself once, with everybody enrolled as here."""

from datetime import timedelta

import pytest

from progress.models import Athlete, GymClass, Meeting, RegisterEntry
from progress.usecases.sheets.meetings import open_meeting, were_here
from tests import makers

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)


def register(meeting: Meeting) -> dict[str, bool]:
    return dict(meeting.register.values_list("athlete__code", "present"))


class TestOpening:
    def test_a_new_meeting_has_everybody_enrolled_on_the_day_as_here(
        self, monday_class: GymClass, cy: Athlete
    ) -> None:
        makers.enrol(cy, monday_class, until=makers.TODAY - DAY)
        meeting = open_meeting(gym_class=monday_class, day=makers.TODAY)

        assert (meeting.gym_class, meeting.day) == (monday_class, makers.TODAY)
        assert register(meeting) == {"ada": True, "bo": True}

    def test_it_opens_once_and_what_was_marked_stays(
        self, monday_class: GymClass, cy: Athlete
    ) -> None:
        meeting = open_meeting(gym_class=monday_class, day=makers.TODAY)
        meeting.register.filter(athlete__code="bo").update(present=False)
        makers.enrol(cy, monday_class)

        assert open_meeting(gym_class=monday_class, day=makers.TODAY) == meeting
        assert register(meeting) == {"ada": True, "bo": False}

    def test_each_day_and_each_class_has_its_own(self, monday_class: GymClass, cy: Athlete) -> None:
        friday = makers.make_class("friday", athletes=[cy])
        meetings = [
            open_meeting(gym_class=gym_class, day=day)
            for gym_class in (monday_class, friday)
            for day in (makers.TODAY, makers.TODAY + 7 * DAY)
        ]

        assert len({meeting.pk for meeting in meetings}) == Meeting.objects.count() == 4
        assert register(meetings[2]) == {"cy": True}

    def test_a_class_with_nobody_in_it_opens_too(self) -> None:
        assert register(open_meeting(gym_class=makers.make_class(), day=makers.TODAY)) == {}


class TestWhoMadeAnAttemptWasHere:
    def test_who_was_marked_away_is_here_after_all_and_nobody_else_is(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete
    ) -> None:
        meeting = makers.make_meeting(monday_class, away=[ada, bo])
        were_here(meeting=meeting, athletes=[bo.pk, bo.pk])

        assert register(meeting) == {"ada": False, "bo": True}

    def test_who_was_not_on_the_register_is_put_on_it(
        self, monday_class: GymClass, ada: Athlete, bo: Athlete
    ) -> None:
        """A child who joined after the meeting had opened would look long absent later."""
        meeting = makers.make_meeting(monday_class, present=[ada])
        were_here(meeting=meeting, athletes=iter([bo.pk]))

        assert register(meeting) == {"ada": True, "bo": True}

    def test_the_register_of_another_day_is_left_alone(
        self, monday_class: GymClass, bo: Athlete
    ) -> None:
        last_week = makers.make_meeting(monday_class, makers.TODAY - 7 * DAY, away=[bo])
        were_here(meeting=makers.make_meeting(monday_class, away=[bo]), athletes=[bo.pk])

        assert register(last_week) == {"bo": False}

    def test_nobody_is_nobody(self, monday_class: GymClass, bo: Athlete) -> None:
        were_here(meeting=makers.make_meeting(monday_class, away=[bo]), athletes=[])
        assert list(RegisterEntry.objects.values_list("present", flat=True)) == [False]
