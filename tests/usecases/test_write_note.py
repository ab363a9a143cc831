"""A few words on an athlete for colleagues, and taking them back."""

from datetime import timedelta
from typing import Any

import pytest

from progress.models import Athlete, Note, StaffMember
from progress.usecases.write_note import NoteRefused, take_back_note, write_note
from tests import makers

pytestmark = pytest.mark.django_db

NOW = makers.moment(hour=17)
LATER = NOW + timedelta(hours=1)


def write(athlete: Athlete, author: StaffMember, text: str = "Likes to go first") -> Note:
    return write_note(athlete=athlete, text=text, author=author, now=NOW)


class TestWriting:
    def test_a_note_is_kept_with_who_and_when(self, cy: Athlete, coach: StaffMember) -> None:
        write(cy, coach)

        note = Note.objects.standing().get()
        assert (note.athlete, note.text) == (cy, "Likes to go first")
        assert (note.written_by, note.written_at, note.taken_back_at) == (coach, NOW, None)

    @pytest.mark.parametrize("change", [{"role": "desk"}, {"active": False}])
    def test_only_an_active_coach_or_lead_writes_one(
        self, cy: Athlete, change: dict[str, Any]
    ) -> None:
        with pytest.raises(NoteRefused, match="Only a coach or the lead"):
            write(cy, makers.make_staff(**change))
        assert not Note.objects.exists()

    def test_who_has_left_takes_none_back(self, cy: Athlete) -> None:
        left = makers.make_staff()
        note = write(cy, left)
        left.active = False
        with pytest.raises(NoteRefused):
            take_back_note(note=note, by=left, now=LATER)
        assert Note.objects.standing().get() == note

    def test_it_is_for_staff_unless_its_author_shows_it_to_the_family(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        assert not write(cy, coach).for_family
        shown = write_note(athlete=cy, text="Hi", author=coach, now=NOW, for_family=True)
        shown.refresh_from_db()
        assert shown.for_family

    @pytest.mark.parametrize("blank", ["", "   ", "\n\t \r\n", "\u00a0"])
    def test_a_blank_one_is_refused(self, cy: Athlete, coach: StaffMember, blank: str) -> None:
        with pytest.raises(NoteRefused, match="Write a few words first"):
            write(cy, coach, blank)
        assert not Note.objects.exists()

    def test_white_space_is_folded(self, cy: Athlete, coach: StaffMember) -> None:
        assert write(cy, coach, "  Likes\tto \n\n go  first ").text == "Likes to go first"

    def test_there_is_room_for_three_hundred_characters(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        """Counted after folding, so that a line break more does not refuse a note."""
        note = write(cy, coach, "x" * 150 + " \n " + "y" * 149)
        note.refresh_from_db()
        assert len(note.text) == 300

    def test_a_longer_one_is_refused_and_told_how_long_it_is(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        with pytest.raises(NoteRefused, match="Keep it to 300 characters; this has 301"):
            write(cy, coach, "x" * 301)
        assert not Note.objects.exists()


class TestTakingBack:
    def test_its_author_takes_it_back_and_it_stays_on_record(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        note = write(cy, coach)
        take_back_note(note=note, by=coach, now=LATER)

        assert not Note.objects.standing().exists()
        note.refresh_from_db()
        assert (note.text, note.taken_back_at) == ("Likes to go first", LATER)

    def test_the_lead_takes_back_anybodys(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        take_back_note(note=write(cy, coach), by=lead, now=LATER)
        assert not Note.objects.standing().exists()

    def test_nobody_else_does(self, cy: Athlete, coach: StaffMember, desk: StaffMember) -> None:
        note = write(cy, coach)
        for other in (makers.make_staff("max"), desk):
            with pytest.raises(NoteRefused, match="Only who wrote it or the lead"):
                take_back_note(note=note, by=other, now=LATER)
        assert Note.objects.standing().get() == note

    def test_a_note_whose_author_is_gone_is_the_leads(
        self, cy: Athlete, coach: StaffMember, lead: StaffMember
    ) -> None:
        note = write(cy, makers.make_staff("gone"))
        StaffMember.objects.filter(code="gone").delete()
        note.refresh_from_db()
        with pytest.raises(NoteRefused):
            take_back_note(note=note, by=coach, now=LATER)
        take_back_note(note=note, by=lead, now=LATER)
        assert not Note.objects.standing().exists()

    def test_taking_it_back_again_keeps_the_first_moment(
        self, cy: Athlete, coach: StaffMember
    ) -> None:
        note = write(cy, coach)
        for moment in (LATER, LATER + timedelta(days=1)):
            take_back_note(note=note, by=coach, now=moment)
        note.refresh_from_db()
        assert note.taken_back_at == LATER

    def test_the_others_stay(self, cy: Athlete, ada: Athlete, coach: StaffMember) -> None:
        kept = [write(ada, coach), write(cy, coach, "Second")]
        take_back_note(note=write(cy, coach), by=coach, now=LATER)
        assert set(Note.objects.standing()) == set(kept)
