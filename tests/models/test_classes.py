"""Classes: who has a place on a day, and what a register may hold."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError

from progress.models import Athlete, Enrolment, GymClass, Meeting, RegisterEntry
from tests import makers
from tests.models.conftest import Refusal

DAY = timedelta(days=1)


@pytest.fixture
def gym_class(db: None) -> GymClass:
    """A Monday class with nobody in it."""
    return makers.make_class("monday", name="Monday class")


class TestWhatTheDatabaseRefuses:
    def test_a_code_is_used_once(self, gym_class: GymClass, refused: Refusal) -> None:
        with refused(GymClass, "code"):
            GymClass.objects.bulk_create([GymClass(code="monday", name="Another")])

    def test_a_week_has_seven_days(self, refused: Refusal) -> None:
        with refused(GymClass, "class_weekday_exists"):
            GymClass.objects.bulk_create([GymClass(code="never", name="Never", weekday=7)])

    def test_a_place_starts_once_on_a_day(
        self, gym_class: GymClass, cy: Athlete, today: date, refused: Refusal
    ) -> None:
        makers.enrol(cy, gym_class, since=today)
        with refused(Enrolment, "enrolment_starts_once"):
            Enrolment.objects.bulk_create(
                [Enrolment(athlete=cy, gym_class=gym_class, since=today, until=today)]
            )

    def test_a_place_ends_after_it_starts(
        self, gym_class: GymClass, cy: Athlete, today: date, refused: Refusal
    ) -> None:
        with refused(Enrolment, "enrolment_ends_after_start"):
            Enrolment.objects.bulk_create(
                [Enrolment(athlete=cy, gym_class=gym_class, since=today, until=today - DAY)]
            )

    def test_a_class_meets_once_a_day(
        self, gym_class: GymClass, today: date, refused: Refusal
    ) -> None:
        makers.make_meeting(gym_class, today)
        with refused(Meeting, "class_meets_once_a_day"):
            Meeting.objects.bulk_create([Meeting(gym_class=gym_class, day=today)])

    def test_an_athlete_is_registered_once(
        self, gym_class: GymClass, cy: Athlete, refused: Refusal
    ) -> None:
        meeting = makers.make_meeting(gym_class, present=(cy,))
        with refused(RegisterEntry, "registered_once"):
            RegisterEntry.objects.bulk_create(
                [RegisterEntry(meeting=meeting, athlete=cy, present=False)]
            )


class TestWhoHasAPlace:
    def test_from_the_first_day_to_the_last(
        self, gym_class: GymClass, cy: Athlete, today: date
    ) -> None:
        makers.enrol(cy, gym_class, since=today, until=today + 7 * DAY)
        days = (today - DAY, today, today + 7 * DAY, today + 8 * DAY)
        assert [gym_class.athletes_on(day).exists() for day in days] == [False, True, True, False]

    def test_without_an_end_for_as_long_as_it_goes(
        self, gym_class: GymClass, cy: Athlete, today: date
    ) -> None:
        makers.enrol(cy, gym_class, since=today)
        assert list(gym_class.athletes_on(today + 3000 * DAY)) == [cy]

    def test_not_from_the_day_an_athlete_left(
        self, gym_class: GymClass, cy: Athlete, today: date
    ) -> None:
        makers.enrol(cy, gym_class)
        Athlete.objects.update(left=today)
        assert list(gym_class.athletes_on(today - DAY)) == [cy]
        assert list(gym_class.athletes_on(today)) == []

    def test_an_open_place_elsewhere_does_not_count_here(
        self, gym_class: GymClass, cy: Athlete, today: date
    ) -> None:
        makers.enrol(cy, gym_class, since=today - 9 * DAY, until=today - DAY)
        makers.enrol(cy, makers.make_class())
        assert list(gym_class.athletes_on(today)) == []

    def test_each_athlete_once_and_by_name(self, gym_class: GymClass, today: date) -> None:
        zoe, ali = makers.make_athlete(name="Zoe"), makers.make_athlete(name="Ali")
        for athlete, since in ((zoe, today), (zoe, today - DAY), (ali, today)):
            makers.enrol(athlete, gym_class, since=since)
        assert list(gym_class.athletes_on(today)) == [ali, zoe]


class TestTheRegister:
    def test_takes_an_athlete_of_the_class(self, gym_class: GymClass, cy: Athlete) -> None:
        makers.enrol(cy, gym_class)
        RegisterEntry(meeting=makers.make_meeting(gym_class), athlete=cy).full_clean()

    def test_asks_about_an_athlete_who_was_not_enrolled(
        self, gym_class: GymClass, cy: Athlete
    ) -> None:
        with pytest.raises(ValidationError, match="Not enrolled in this class on that day"):
            RegisterEntry(meeting=makers.make_meeting(gym_class), athlete=cy).full_clean()


def test_records_read_plainly(gym_class: GymClass, cy: Athlete, today: date) -> None:
    meeting = makers.make_meeting(gym_class, today, away=(cy,))
    assert str(meeting) == "Monday class, Mon 02 Mar 2026"
    assert [str(entry) for entry in meeting.register.all()] == ["Cy: away"]
    assert str(makers.enrol(cy, gym_class)) == "Cy in Monday class"
