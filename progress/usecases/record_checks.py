"""A coach records the checks of a class after it: all of them, or none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from progress.engine.terms import Result
from progress.models import (
    Athlete,
    Attempt,
    GymClass,
    Loop,
    Meeting,
    Role,
    Skill,
    StaffMember,
    Variant,
)

MOST_ENTRIES = 2_000
LONGEST_ID, LONGEST_NOTE = 64, 500
APART = timedelta(milliseconds=1)  # the engine's days, as numbers, tell no less apart
STORED_BEFORE = "its id was stored before with other content; correct that entry instead"


@dataclass(frozen=True)
class Entry:
    """One try as entered; ``uid`` was made where it was entered, ``variant`` is a code."""

    uid: str
    athlete: str
    skill: str
    result: str
    variant: str | None = None
    note: str = ""


@dataclass(frozen=True)
class Recorded:
    """What was stored now, and how many entries had been stored before."""

    attempts: tuple[Attempt, ...]
    stored_before: int


class ChecksRefused(ValueError):
    """Something is wrong with the entries; nothing was stored. ``problems`` say what, by entry."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = list(problems)
        super().__init__("; ".join(self.problems[:5]))


def record_checks(
    *, gym_class: GymClass, coach: StaffMember, entries: Sequence[Entry], now: datetime
) -> Recorded:
    """Store the entries as attempts made at ``now`` in today's meeting of the class.

    Any active coach or lead may record for any class, because coaches stand in for each other; the
    attempt keeps who it was. Only athletes enrolled in the class on the day can be recorded. An
    entry sent twice is stored once. Tries keep the order of the entries, the last one at ``now``:
    it counts whether a miss came before or after the clean ones. Raises ChecksRefused when
    anything is wrong.
    """
    try:
        return _record(gym_class, coach, entries, now)
    except IntegrityError:
        # The same sending arrived twice at once, as a double tap does; by now the other is stored.
        return _record(gym_class, coach, entries, now)


def _record(
    gym_class: GymClass, coach: StaffMember, entries: Sequence[Entry], now: datetime
) -> Recorded:
    day = timezone.localtime(now).date()
    known = _Known.read(gym_class, entries, now)
    problems = _refusals(coach, entries) or known.problems(entries, coach)
    if problems:
        raise ChecksRefused(problems)
    fresh = [entry for entry in entries if entry.uid not in known.stored]
    with transaction.atomic():
        if fresh:
            meeting, _ = Meeting.objects.get_or_create(gym_class=gym_class, day=day)
            first = now - APART * (len(fresh) - 1)
            made = [
                known.attempt(entry, coach, meeting, first + APART * place)
                for place, entry in enumerate(fresh)
            ]
            Attempt.objects.bulk_create(made)
        else:
            made = []
    return Recorded(tuple(made), stored_before=len(entries) - len(fresh))


def _refusals(coach: StaffMember, entries: Sequence[Entry]) -> list[str]:
    """What is wrong whatever the entries say."""
    if not coach.active or coach.role not in (Role.COACH, Role.LEAD):
        return ["Only a coach or the lead may record checks."]
    if len(entries) > MOST_ENTRIES:
        return [f"{len(entries)} entries at once; send at most {MOST_ENTRIES}."]
    return []


@dataclass(frozen=True)
class _Known:
    """The records the entries name, looked up once."""

    athletes: Mapping[str, Athlete]
    skills: Mapping[str, Skill]
    variants: Mapping[str, Variant]
    stored: Mapping[str, Attempt]

    @classmethod
    def read(cls, gym_class: GymClass, entries: Sequence[Entry], now: datetime) -> "_Known":
        day = timezone.localtime(now).date()
        loops = Loop.objects.on_floor(day) if any(entry.variant for entry in entries) else []
        variants = {
            variant.code: variant
            for loop in loops
            for stop in loop.stops.all()
            for variant in stop.station.variants.all()
        }
        uids = [entry.uid for entry in entries[:MOST_ENTRIES]]
        stored = Attempt.objects.filter(uid__in=uids).select_related("athlete", "skill", "variant")
        return cls(
            {athlete.code: athlete for athlete in gym_class.athletes_on(day)},
            {skill.code: skill for skill in Skill.objects.all()},
            variants,
            {attempt.uid: attempt for attempt in stored},
        )

    def problems(self, entries: Sequence[Entry], coach: StaffMember) -> list[str]:
        """Everything wrong with the entries, each with its number, what and how to mend it."""
        found: list[str] = []
        seen: set[str] = set()
        for number, entry in enumerate(entries, start=1):
            wrong = self._wrong(entry, coach)
            if entry.uid in seen:
                wrong.append("its id is used twice in one sending")
            seen.add(entry.uid)
            found.extend(f"Entry {number}: {what}." for what in wrong)
        return found

    def _wrong(self, entry: Entry, coach: StaffMember) -> list[str]:
        before = self.stored.get(entry.uid)
        if before is not None:
            # Sent again, perhaps a week later: it needs no place in today's class or floor.
            same = _same(before, entry, coach)
            return [] if same else [STORED_BEFORE]
        wrong = []
        if not entry.uid or len(entry.uid) > LONGEST_ID:
            wrong.append(f"its id must have 1 to {LONGEST_ID} characters")
        if entry.athlete not in self.athletes:
            wrong.append(f"{entry.athlete!r} is not in this class today")
        if entry.skill not in self.skills:
            wrong.append(f"{entry.skill!r} is not a skill of the catalogue")
        if entry.result not in set(Result):
            wrong.append(f"{entry.result!r} is not a result; use miss, assisted or clean")
        if entry.variant and entry.variant not in self.variants:
            wrong.append(f"variant {entry.variant!r} is not on the floor this week")
        if len(entry.note) > LONGEST_NOTE:
            wrong.append(f"the note is longer than {LONGEST_NOTE} characters")
        return wrong

    def attempt(self, entry: Entry, coach: StaffMember, meeting: Meeting, at: datetime) -> Attempt:
        """The entry as a record."""
        return Attempt(
            uid=entry.uid,
            athlete=self.athletes[entry.athlete],
            skill=self.skills[entry.skill],
            variant=self.variants[entry.variant] if entry.variant else None,
            at=at,
            result=entry.result,
            coach=coach,
            meeting=meeting,
            note=entry.note,
            stored_at=at,
        )


def _same(before: Attempt, entry: Entry, coach: StaffMember) -> bool:
    """Whether a stored attempt says the same as an entry sent again."""
    variant = before.variant.code if before.variant else None
    return (
        before.athlete.code == entry.athlete
        and before.skill.code == entry.skill
        and before.result == entry.result
        and variant == (entry.variant or None)
        and before.note == entry.note
        and before.coach_id == coach.pk
    )
