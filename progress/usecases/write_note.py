"""A coach writes a few words on an athlete for colleagues, or takes them back."""

from datetime import datetime

from progress.models import Athlete, Note, Role, StaffMember
from progress.usecases.sheets.roles import may_record

LONGEST = 300


class NoteRefused(ValueError):
    """The note cannot be kept; the message says why."""


def write_note(
    *, athlete: Athlete, text: str, author: StaffMember, now: datetime, for_family: bool = False
) -> Note:
    """Keep a note; by a coach or the lead, and never the place for health details.

    The family reads it only where its author says so with ``for_family``.
    """
    if not may_record(author):
        raise NoteRefused("Only a coach or the lead may write a note.")
    words = " ".join(text.split())
    if not words:
        raise NoteRefused("Write a few words first.")
    if len(words) > LONGEST:
        raise NoteRefused(f"Keep it to {LONGEST} characters; this has {len(words)}.")
    return Note.objects.create(
        athlete=athlete, text=words, for_family=for_family, written_by=author, written_at=now
    )


def take_back_note(*, note: Note, by: StaffMember, now: datetime) -> None:
    """Strike a note out: its author's or, for the lead, anybody's."""
    if not may_record(by) or (note.written_by_id != by.pk and by.role != Role.LEAD):
        raise NoteRefused("Only who wrote it or the lead can take a note back.")
    Note.objects.standing().filter(pk=note.pk).update(taken_back_at=now)
