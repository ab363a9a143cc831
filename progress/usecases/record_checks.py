"""A coach records the checks of a class during or after it: all of a sending, or none.

Holds stop what comes next; they unmake nothing. A try may reach the gym after its child was put on
hold, because the phone had no network: it is stored like any other, since it happened, and losing
a true record helps nobody. What was tried on a day a hold covered it is named in the answer, so
that the coach can tell the lead. Where somebody can still be asked, on the forms, the pages offer
nothing to mark for a child on hold and refuse what is sent for one all the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from progress.models import Attempt, GymClass, StaffMember
from progress.usecases.sheets.entries import ChecksRefused, Entry, Problem
from progress.usecases.sheets.held import HeldTries, tries_on_hold
from progress.usecases.sheets.known import Known, day_of
from progress.usecases.sheets.meetings import open_meeting, were_here
from progress.usecases.sheets.roles import may_record
from progress.usecases.standings.changed import athletes_changed

MOST_ENTRIES = 2_000
APART = timedelta(milliseconds=1)  # the engine's days, as numbers, tell no less apart

__all__ = ["ChecksRefused", "Entry", "HeldTries", "Recorded", "record_checks"]


@dataclass(frozen=True)
class Recorded:
    """What was stored now, and how many entries had been stored before.

    ``held`` names the tries, stored now or before, that a hold covered on the day they were made.
    """

    attempts: tuple[Attempt, ...]
    stored_before: int
    held: tuple[HeldTries, ...] = ()


def record_checks(
    *, gym_class: GymClass | None, coach: StaffMember, entries: Sequence[Entry], now: datetime
) -> Recorded:
    """Store the entries as attempts in the meeting of the class on the day each was made.

    Any active coach or lead may record for any class, because coaches stand in for each other; the
    attempt keeps who it was. A correction keeps the coach who saw the try. Corrections alone can be
    stored without a class. Only athletes enrolled in the class on the day can be recorded. An
    entry sent twice is stored once. Tries without a time of their own keep the order of the
    entries, the last one at ``now``: it counts whether a miss came before or after the clean ones.
    Raises ChecksRefused when anything is wrong; then nothing is stored.
    """
    try:
        return _record(gym_class, coach, entries, now)
    except IntegrityError:
        # The same sending arrived twice at once, as a double tap does; by now the other is stored.
        return _record(gym_class, coach, entries, now)


def _record(
    gym_class: GymClass | None, coach: StaffMember, entries: Sequence[Entry], now: datetime
) -> Recorded:
    if refusal := _refusal(gym_class, coach, entries):
        raise ChecksRefused([Problem(0, "", refusal)])
    known = Known.read(gym_class, entries, now)
    if problems := known.problems(entries, coach):
        raise ChecksRefused(problems)
    fresh = [entry for entry in entries if entry.uid not in known.stored]
    with transaction.atomic():
        # A correction belongs to the meeting of what it corrects and is no sign of one today.
        days = sorted({day_of(entry, now) for entry in fresh if entry.supersedes is None})
        meetings = {day: open_meeting(gym_class=gym_class, day=day) for day in days if gym_class}
        made = [
            known.attempt(entry, coach, meetings.get(day_of(entry, now)), at)
            for entry, at in zip(fresh, _times(fresh, now), strict=True)
        ]
        if made:
            Attempt.objects.bulk_create(made)
            tried = {attempt.athlete_id for attempt in made}
            athletes_changed(athletes=tried, today=timezone.localdate(now))
        for meeting in meetings.values():
            here = [
                a.athlete_id for a in made if a.meeting_id == meeting.pk and not a.supersedes_id
            ]
            were_here(meeting=meeting, athletes=here)
    held = tries_on_hold(entries, known.skills, now)
    return Recorded(tuple(made), stored_before=len(entries) - len(fresh), held=held)


def _refusal(gym_class: GymClass | None, coach: StaffMember, entries: Sequence[Entry]) -> str:
    """What is wrong whatever the entries say; empty where nothing is."""
    if not may_record(coach):
        return "Only a coach or the lead may record checks."
    if len(entries) > MOST_ENTRIES:
        return f"{len(entries)} entries at once; send at most {MOST_ENTRIES}."
    if gym_class is None and any(entry.supersedes is None for entry in entries):
        return "Name the class: without one only corrections are stored."
    return ""


def _times(entries: Sequence[Entry], now: datetime) -> list[datetime]:
    """When each entry was tried: at its own time, or at ``now``, and no two at the same moment.

    Entries that would share a moment keep their order, the earlier ones a moment before. So a
    phone whose clock is ahead, whose times all become ``now``, does not mix up its tries.
    """
    own = [entry.at if entry.at is not None else now for entry in entries]
    times, latest = list(own), now
    for place in sorted(range(len(own)), key=lambda place: (own[place], place), reverse=True):
        times[place] = min(own[place], latest)
        latest = times[place] - APART
    return times
