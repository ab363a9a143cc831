"""What a change to a setup answers, what may be changed, and in which weeks."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from progress.models import Setup, StaffMember
from progress.usecases.sheets.roles import may_record

WEEK = timedelta(weeks=1)
Undo = dict[str, Any]


class FloorRefused(ValueError):
    """The floor stays as it was; the message says where, what is wrong and how to mend it.

    ``field`` names the fact it is about, where it is about one.
    """

    def __init__(self, says: str, field: str | None = None) -> None:
        super().__init__(says)
        self.field = field


@dataclass(frozen=True)
class Done:
    """A change that was made.

    ``says`` is for the coach. ``undo`` is plain data that ``undo_change`` takes, None where there
    is nothing to bring back. ``station`` is the key of the station the change was about.
    """

    says: str
    undo: Undo | None = None
    station: int | None = None


def monday_of(day: date) -> date:
    """The Monday of the week of ``day``."""
    return day - timedelta(days=day.weekday())


def week_words(week: date, *, start: bool = False) -> str:
    """``the week of 9 March``; ``start`` for the start of a sentence."""
    return f"{'The' if start else 'the'} week of {week.day} {week:%B}"


def refuse_strangers(by: StaffMember) -> None:
    """Raise FloorRefused unless this is an active coach or lead."""
    if not may_record(by):
        raise FloorRefused("Only a coach or the lead may plan the floor.")


def lock(setup: Setup) -> Setup:
    """The setup as stored now, held until the transaction ends, so that changes come in turn."""
    found = Setup.objects.select_for_update().filter(pk=setup.pk).first()
    if found is None:
        raise FloorRefused(
            "This setup was thrown away meanwhile. Choose another on the floor page."
        )
    return found


def is_used(setup: Setup) -> bool:
    """Whether attempts point at this setup."""
    return Setup.objects.in_use().filter(pk=setup.pk).exists()


def open_to_change(setup: Setup, by: StaffMember) -> Setup:
    """Lock a draft or the station library for a change by this person.

    Raises FloorRefused for somebody who is no coach or lead, a setup that is published or was
    replaced, and one that attempts were recorded on.
    """
    refuse_strangers(by)
    held = lock(setup)
    if held.library:
        return held
    if not held.is_draft:
        raise FloorRefused(
            f"{held} is published, so it cannot be changed here. Take it back to draft, or choose"
            " “Change it from today”."
        )
    if is_used(held):
        raise FloorRefused(
            f"Attempts were recorded on {held}, so it stays as it was. Copy it and change the copy."
        )
    return held


def a_name(text: str, *, of: str, most: int = 120) -> str:
    """``text`` without the space around it; FloorRefused where nothing or too much is left."""
    name = " ".join(text.split())
    if not name:
        raise FloorRefused(f"The {of} has no name. Write a short one, such as “Left way”.")
    if len(name) > most:
        raise FloorRefused(f"The name of the {of} is too long. Write at most {most} letters.")
    return name
