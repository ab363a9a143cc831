"""What a meeting keeps beside attempts: skills put on its sheet or taken off, and notes."""

from datetime import timedelta

import pytest

from progress.models import Athlete, GymClass, Meeting, Note, SheetSkill, Skill, StaffMember
from tests import makers
from tests.models.conftest import Refusal

NOON = makers.moment(hour=12)


@pytest.fixture
def meeting(db: None) -> Meeting:
    """Today's meeting of a Monday class."""
    return makers.make_meeting(makers.make_class("monday", name="Monday class"))


@pytest.fixture
def hang(small_catalogue: dict[str, Skill]) -> Skill:
    return small_catalogue["HANG-1"]


def shown(meeting: Meeting) -> list[bool]:
    return [choice.shown for choice in SheetSkill.objects.filter(meeting=meeting)]


class TestSkillsOfASheet:
    def test_a_skill_is_chosen_once_for_a_meeting(
        self, meeting: Meeting, hang: Skill, refused: Refusal
    ) -> None:
        SheetSkill.objects.create(meeting=meeting, skill=hang, shown=True)
        with refused(SheetSkill, "skill_chosen_once"):
            SheetSkill.objects.bulk_create([SheetSkill(meeting=meeting, skill=hang, shown=False)])

    def test_another_meeting_chooses_for_itself(self, meeting: Meeting, hang: Skill) -> None:
        next_week = makers.make_meeting(meeting.gym_class, makers.TODAY + timedelta(weeks=1))
        for one, on in ((meeting, True), (next_week, False)):
            SheetSkill.objects.create(meeting=one, skill=hang, shown=on)

        assert shown(meeting) == [True]
        assert shown(next_week) == [False]

    def test_a_choice_goes_with_its_class_and_stays_when_its_coach_goes(
        self, meeting: Meeting, hang: Skill, coach: StaffMember
    ) -> None:
        choice = SheetSkill.objects.create(meeting=meeting, skill=hang, shown=True, chosen_by=coach)
        coach.delete()
        choice.refresh_from_db()
        assert choice.chosen_by is None
        GymClass.objects.all().delete()
        assert not SheetSkill.objects.exists()

    def test_a_choice_reads_plainly(self, meeting: Meeting, hang: Skill) -> None:
        said = [
            str(SheetSkill(meeting=meeting, skill=hang, shown=shown)) for shown in (True, False)
        ]
        of = f"the sheet of {meeting}"
        assert said == [f"{hang} on {of}", f"{hang} off {of}"]


class TestNotes:
    def test_a_note_says_something(self, cy: Athlete, refused: Refusal) -> None:
        with refused(Note, "note_says_something"):
            Note.objects.bulk_create([Note(athlete=cy, text="")])

    def test_those_that_stand_are_the_ones_not_taken_back_newest_first(self, cy: Athlete) -> None:
        for hours, text in ((2, "older"), (0, "newest"), (1, "newer")):
            Note.objects.create(athlete=cy, text=text, written_at=NOON - timedelta(hours=hours))
        Note.objects.create(athlete=cy, text="struck out", written_at=NOON, taken_back_at=NOON)

        assert [note.text for note in Note.objects.standing()] == ["newest", "newer", "older"]
        assert Note.objects.count() == 4

    def test_of_two_at_one_moment_the_later_one_comes_first(self, cy: Athlete) -> None:
        for text in ("first", "second"):
            Note.objects.create(athlete=cy, text=text, written_at=NOON)
        assert [note.text for note in Note.objects.standing()] == ["second", "first"]

    def test_a_note_goes_with_its_athlete_and_stays_when_its_author_goes(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        note = Note.objects.create(athlete=cy, text="Likes to go first", written_by=coach)
        coach.delete()
        note.refresh_from_db()
        assert note.written_by is None
        cy.delete()
        assert not Note.objects.exists()

    def test_a_note_reads_as_its_words(self) -> None:
        assert str(Note(text="Likes to go first")) == "Likes to go first"
