"""The records a sending names, looked up once, and what is wrong with its entries."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils import timezone

from progress.engine.terms import Result
from progress.models import (
    Athlete,
    Attempt,
    GymClass,
    Loop,
    Meeting,
    Skill,
    StaffMember,
    Variant,
)
from progress.usecases.sheets.entries import Entry, Problem

LONGEST_ID, LONGEST_NOTE = 64, 500
LONGEST_REASON = 200
CLOCKS_DIFFER = timedelta(minutes=10)  # a phone's clock may be ahead by this much
OLDEST = timedelta(days=14)  # a phone may have been without a network for this long
ON_THE_DAY = "Corrected on the day"
STORED_BEFORE = "its id was stored before with other content; correct that entry instead"


@dataclass(frozen=True)
class Known:
    """What the entries may name. ``athletes`` and ``variants`` by day, then by code."""

    now: datetime
    athletes: Mapping[date, Mapping[str, Athlete]]
    variants: Mapping[date, Mapping[str, Variant]]
    skills: Mapping[str, Skill]
    stored: Mapping[str, Attempt]

    @classmethod
    def read(cls, gym_class: GymClass | None, entries: Sequence[Entry], now: datetime) -> "Known":
        """Look everything up: a fixed number of queries for each day the entries were made on."""
        days = sorted({day_of(entry, now) for entry in entries} | {timezone.localdate(now)})
        uids = {entry.uid for entry in entries} | {e.supersedes for e in entries if e.supersedes}
        with_variants = {day_of(entry, now) for entry in entries if entry.variant}
        stored = Attempt.objects.filter(uid__in=uids).select_related(
            "athlete", "skill", "variant", "supersedes", "superseded_by", "coach"
        )
        return cls(
            now,
            {day: _enrolled(gym_class, day) for day in days},
            {day: _on_floor(day) if day in with_variants else {} for day in days},
            {skill.code: skill for skill in Skill.objects.all()},
            {attempt.uid: attempt for attempt in stored},
        )

    def problems(self, entries: Sequence[Entry], coach: StaffMember) -> list[Problem]:
        """Everything wrong with the entries, each with what and how to mend it."""
        found: list[Problem] = []
        seen: set[str] = set()
        corrected: set[str] = set()
        for number, entry in enumerate(entries, start=1):
            wrong = self._wrong(entry, coach)
            if entry.uid in seen:
                wrong.append("its id is used twice in one sending")
            elif entry.supersedes in corrected and not wrong:
                wrong.append("it corrects what another entry of this sending corrects")
            seen.add(entry.uid)
            corrected |= {entry.supersedes} if entry.supersedes else set()
            found.extend(Problem(number, entry.uid, what) for what in wrong)
        return found

    def _wrong(self, entry: Entry, coach: StaffMember) -> list[str]:
        before = self.stored.get(entry.uid)
        if before is not None:
            # Sent again, perhaps a week later: it needs no place in today's class or floor.
            return [] if _same(before, entry, coach) else [STORED_BEFORE]
        wrong = self._wrong_time(entry) or self._wrong_names(entry)
        if not entry.uid or len(entry.uid) > LONGEST_ID:
            wrong.append(f"its id must have 1 to {LONGEST_ID} characters")
        if entry.result not in set(Result):
            wrong.append(f"{entry.result!r} is not a result; use miss, assisted or clean")
        if len(entry.note) > LONGEST_NOTE:
            wrong.append(f"the note is longer than {LONGEST_NOTE} characters")
        return wrong + self._wrong_correction(entry)

    def _wrong_time(self, entry: Entry) -> list[str]:
        if entry.at is None:
            return []
        if timezone.is_naive(entry.at):
            return ["its time has no zone"]
        if entry.at > self.now + CLOCKS_DIFFER:
            return ["its time is in the future; set the clock of the phone"]
        if entry.at < self.now - OLDEST:
            return [f"it was made more than {OLDEST.days} days ago; ask the lead to load it"]
        return []

    def _wrong_names(self, entry: Entry) -> list[str]:
        wrong, day = [], day_of(entry, self.now)
        when = "today" if day == timezone.localdate(self.now) else f"on {day:%d %B}"
        # A correction is about what was recorded, whoever has left and whatever was set up since.
        new = entry.supersedes is None
        if new and entry.athlete not in self.athletes[day]:
            wrong.append(f"{entry.athlete!r} is not in this class {when}")
        if entry.skill not in self.skills:
            wrong.append(f"{entry.skill!r} is not a skill of the catalogue")
        if new and entry.variant and entry.variant not in self.variants[day]:
            wrong.append(f"variant {entry.variant!r} is not on the floor this week")
        return wrong

    def _wrong_correction(self, entry: Entry) -> list[str]:
        if entry.supersedes is None:
            return ["only a correction can take a try back"] if entry.taken_back else []
        old = self.stored.get(entry.supersedes)
        if old is None or (old.athlete.code, old.skill.code) != (entry.athlete, entry.skill):
            return ["what it corrects is not stored for this athlete and skill"]
        if getattr(old, "superseded_by", None) is not None:
            return ["it was corrected in the meantime; open the sheet afresh and look"]
        if len(entry.reason) > LONGEST_REASON:
            return [f"the reason is longer than {LONGEST_REASON} characters"]
        if not entry.reason.strip() and not self.on_the_day(old):
            return ["it corrects another day's entry; say why in a few words"]
        return []

    def on_the_day(self, old: Attempt) -> bool:
        """Whether an attempt is from today, when putting it right needs no reason."""
        return timezone.localdate(old.at) == timezone.localdate(self.now)

    def attempt(
        self, entry: Entry, coach: StaffMember, meeting: Meeting | None, at: datetime
    ) -> Attempt:
        """The entry as a record.

        A correction keeps the old one's time, meeting, variant and coach: who put it right at a
        desk did not see the try, and must not count as a second pair of eyes for a gate.
        """
        if entry.supersedes is not None:
            old = self.stored[entry.supersedes]
            facts: dict[str, Any] = {"at": old.at, "meeting": old.meeting, "variant": old.variant}
            facts |= {"supersedes": old, "taken_back": entry.taken_back, "athlete": old.athlete}
            facts |= {"coach": old.coach, "reason": entry.reason.strip() or ON_THE_DAY}
            facts["entered_by"] = coach if coach.pk != old.coach_id else None
        else:
            day = day_of(entry, self.now)
            facts = {"at": at, "meeting": meeting, "athlete": self.athletes[day][entry.athlete]}
            facts["coach"] = coach
            facts["variant"] = self.variants[day][entry.variant] if entry.variant else None
        return Attempt(
            uid=entry.uid,
            skill=self.skills[entry.skill],
            result=entry.result,
            note=entry.note,
            stored_at=self.now,
            **facts,
        )


def day_of(entry: Entry, now: datetime) -> date:
    """The venue's day an entry was made on; a time that cannot be used counts as now."""
    usable = entry.at is not None and not timezone.is_naive(entry.at)
    usable = usable and now - OLDEST <= entry.at <= now + CLOCKS_DIFFER  # type: ignore[operator]
    return timezone.localdate(min(entry.at, now) if usable and entry.at is not None else now)


def _enrolled(gym_class: GymClass | None, day: date) -> dict[str, Athlete]:
    return {a.code: a for a in gym_class.athletes_on(day)} if gym_class is not None else {}


def _on_floor(day: date) -> dict[str, Variant]:
    return {
        variant.code: variant
        for loop in Loop.objects.on_floor(day)
        for stop in loop.stops.all()
        for variant in stop.station.variants.all()
    }


def _same(before: Attempt, entry: Entry, coach: StaffMember) -> bool:
    """Whether a stored attempt says the same as an entry sent again."""
    corrects = before.supersedes.uid if before.supersedes else None
    variant = before.variant.code if before.variant else None
    return (
        before.athlete.code == entry.athlete
        and before.skill.code == entry.skill
        and before.result == entry.result
        and (entry.supersedes is not None or variant == (entry.variant or None))
        and before.note == entry.note
        and (entry.supersedes is not None or before.coach_id == coach.pk)
        and corrects == entry.supersedes
        and before.taken_back == entry.taken_back
    )
