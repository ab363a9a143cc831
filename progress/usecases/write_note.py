"""A coach writes a few words on an athlete for colleagues, or takes them back."""

from datetime import datetime

from progress.models import Athlete, Note, Role, StaffMember

LONGEST = 300


class NoteRefused(ValueError):
    """The note cannot be kept; the message says why."""


def write_note(*, athlete: Athlete, text: str, author: StaffMember, now: datetime) -> Note:
    """Keep a note; staff only, and never the place for health details."""
    words = " ".join(text.split())
    if not words:
        raise NoteRefused("Write a few words first.")
    if len(words) > LONGEST:
        raise NoteRefused(f"Keep it to {LONGEST} characters; this has {len(words)}.")
    return Note.objects.create(athlete=athlete, text=words, written_by=author, written_at=now)


def take_back_note(*, note: Note, by: StaffMember, now: datetime) -> None:
    """Strike a note out: its author's or, for the lead, anybody's."""
    if note.written_by_id != by.pk and by.role != Role.LEAD:
        raise NoteRefused("Only who wrote it or the lead can take a note back.")
    Note.objects.standing().filter(pk=note.pk).update(taken_back_at=now)
