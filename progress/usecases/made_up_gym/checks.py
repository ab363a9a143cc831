"""How the checks of the made-up gym turn out: its log of attempts."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import numpy as np
from django.utils import timezone
from scipy.special import expit

from progress.engine.terms import Result
from progress.usecases.made_up_gym.register import Register
from progress.usecases.made_up_gym.scenario import ClassPlan, Story
from progress.usecases.made_up_gym.visits import Hall, Pupil, Visit, draw_share, draw_visits
from progress.usecases.made_up_gym.year import MeetingPlan, past_meetings

UIDS = uuid5(NAMESPACE_OID, "made-up gym")
SECONDS_A_TAP = 5
ON_A_VARIANT = 0.8  # chance that a check on a skill on the floor names the variant
EDGE_WANTED = 0.7  # logits: a coach sends a child to the hardest variant with this much in hand
WITH_A_NOTE = 0.02
CORRECTIONS = 10


@dataclass(frozen=True)
class AttemptPlan:
    """One row of the log, with codes where the records have links."""

    uid: str
    athlete: str
    skill: str
    variant: str | None
    week: int
    at: datetime
    result: Result
    coach: str
    class_code: str
    day: date
    note: str = ""
    supersedes: str | None = None
    reason: str = ""


@dataclass(frozen=True)
class Book:
    """Where a class's attempts are written down, in order, after the meeting."""

    seed: int
    hall: Hall
    severity: Mapping[str, float]
    notes: Mapping[str, Sequence[str]]


def plan_attempts(
    rng: np.random.Generator, book: Book, pupils: Sequence[Pupil], register: Register
) -> list[AttemptPlan]:
    """Draw the whole log, class by class and meeting by meeting."""
    attempts: list[AttemptPlan] = []
    for class_ in book.hall.floors.scenario.classes:
        group = [pupil for pupil in pupils if pupil.child.class_ is class_]
        for meeting in past_meetings(class_, book.hall.year):
            here = register.get((class_.code, meeting.day), {})
            present = [pupil for pupil in group if here.get(pupil.child.code)]
            attempts += check_meeting(rng, book, class_, meeting, present)
    return [*attempts, *draw_corrections(rng, book, pupils, attempts)]


def check_meeting(
    rng: np.random.Generator,
    book: Book,
    class_: ClassPlan,
    meeting: MeetingPlan,
    present: Sequence[Pupil],
) -> Iterator[AttemptPlan]:
    """Write down one meeting's checks: one tap every few seconds after the children have gone."""
    ends = datetime.combine(meeting.day, class_.starts_at) + timedelta(minutes=class_.minutes)
    at = timezone.make_aware(ends, timezone.get_default_timezone())
    share = draw_share(rng)
    for pupil in present:
        for visit in draw_visits(rng, book.hall, pupil, meeting, share):
            variant = draw_variant(rng, book.hall, pupil, visit, meeting)
            for _ in range(visit.tries):
                at += timedelta(seconds=SECONDS_A_TAP)
                yield draw_attempt(rng, book, pupil, visit, meeting, variant, at)


def draw_variant(
    rng: np.random.Generator, hall: Hall, pupil: Pupil, visit: Visit, meeting: MeetingPlan
) -> Mapping[str, Any] | None:
    """Choose the variant a skill is checked on, None where it is checked away from stations."""
    code = hall.truth.codes[visit.skill]
    age = pupil.child.age_on(meeting.day)
    fitting = [
        variant
        for variant in hall.floors.variants(meeting.week, pupil.child.class_) or ()
        if variant["skill"] == code and (variant["minimum_age"] or 0) <= age
    ]
    if not fitting or visit.sure or rng.random() >= ON_A_VARIANT:
        return None
    edge = pupil.ability.edge(hall.truth, meeting.week)[visit.skill]
    within = [v for v in fitting if edge - hall.floors.difficulty[v["code"]] >= EDGE_WANTED]
    easiest_first = sorted(within or fitting, key=lambda v: hall.floors.difficulty[v["code"]])
    return easiest_first[-1] if within else easiest_first[0]


def draw_attempt(
    rng: np.random.Generator,
    book: Book,
    pupil: Pupil,
    visit: Visit,
    meeting: MeetingPlan,
    variant: Mapping[str, Any] | None,
    at: datetime,
) -> AttemptPlan:
    """Draw how one try ends."""
    hall = book.hall
    edge = pupil.ability.edge(hall.truth, meeting.week)[visit.skill] - book.severity[visit.coach]
    if variant is not None:
        edge -= hall.floors.difficulty[variant["code"]]
    drawn = draw_result(rng, edge, hall.truth.help_gap[visit.skill])
    result = Result.CLEAN if visit.sure else drawn
    skill = hall.truth.codes[visit.skill]
    return AttemptPlan(
        uid=str(uuid5(UIDS, f"{book.seed} {pupil.child.code} {skill} {at.isoformat()}")),
        athlete=pupil.child.code,
        skill=skill,
        variant=None if variant is None else variant["code"],
        week=meeting.week,
        at=at,
        result=result,
        coach=visit.coach,
        class_code=pupil.child.class_.code,
        day=meeting.day,
        note=draw_note(rng, book.notes[result.value]),
    )


def draw_result(rng: np.random.Generator, edge: float, help_gap: float) -> Result:
    """Draw a result from ability less difficulty, in logits."""
    lot = rng.random()
    if lot < expit(edge):
        return Result.CLEAN
    return Result.ASSISTED if lot < expit(edge + help_gap) else Result.MISS


def draw_note(rng: np.random.Generator, notes: Sequence[str]) -> str:
    """Draw a short note, most often none."""
    return notes[int(rng.integers(len(notes)))] if rng.random() < WITH_A_NOTE else ""


def draw_corrections(
    rng: np.random.Generator,
    book: Book,
    pupils: Sequence[Pupil],
    attempts: Sequence[AttemptPlan],
) -> Iterator[AttemptPlan]:
    """Correct a few attempts: a new row with another result, and why."""
    learning = {pupil.child.code for pupil in pupils if pupil.child.story is Story.LEARNING}
    wrong = [attempt for attempt in attempts if attempt.athlete in learning]
    reasons = book.hall.floors.scenario.words["corrections"]
    for place in rng.choice(len(wrong), CORRECTIONS, replace=False).tolist():
        old = wrong[place]
        others = [result for result in Result if result is not old.result]
        yield replace(
            old,
            uid=str(uuid5(UIDS, f"{old.uid} corrected")),
            result=others[int(rng.integers(len(others)))],
            supersedes=old.uid,
            reason=reasons[int(rng.integers(len(reasons)))],
            note="",
        )
