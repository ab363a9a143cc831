"""The lead checks why the engine says what it says of one athlete, attempt by attempt."""

from bisect import bisect_left
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from django.db.models import Q
from django.utils import timezone

from progress.engine.answers import Estimate, Readiness
from progress.engine.evidence import NEVER
from progress.engine.parameters import VERSION
from progress.engine.rules import Rules
from progress.engine.tier_asks import asked_of_tier, is_no_bar, slipped_gates
from progress.engine.what_would_change import MOST_DAYS, WhatWouldChange, what_would_change
from progress.models import Athlete, Attempt, Enrolment, Hold, Skill
from progress.usecases.engine_inputs import LEVEL, end_of
from progress.usecases.know_athletes import Known, age_floors, know_athletes

WEEK = 7
OLDEST = 30 * 366  # days to look ahead for a birthday


class Part(StrEnum):
    """One part of the rule for a skill."""

    RUN = "run"
    RUN_DAYS = "run_days"
    RUN_COACHES = "run_coaches"
    CLEAN = "clean"
    CLEAN_DAYS = "clean_days"
    FRESH = "fresh"
    SURE = "sure"


class Weight(StrEnum):
    """What an attempt does for the rule."""

    IN_RUN = "in_run"
    TOO_OLD = "too_old"
    COUNTS = "counts"


@dataclass(frozen=True)
class PartOfRule:
    """Whether one part is met: ``has`` against ``asks``.

    Both are counts; for SURE probabilities; for FRESH the day last shown (None: never) and the
    first day that is still fresh. ``bars``: the answer cannot be ready while this is not met.
    """

    part: Part
    met: bool
    has: float | date | None
    asks: float | date
    bars: bool = True


@dataclass(frozen=True)
class SeenAttempt:
    """One attempt and what it does for the rule of its skill."""

    attempt: Attempt
    weight: Weight


@dataclass(frozen=True)
class SkillEvidence:
    """One skill that counts, with everything the answer rests on.

    ``bars``: by itself it keeps the answer from ready. ``slipped``: a safety skill of an earlier
    tier that recent attempts speak against.
    """

    skill: Skill
    estimate: Estimate
    parts: tuple[PartOfRule, ...]
    attempts: tuple[SeenAttempt, ...]
    bars: bool
    holds_back: bool
    slipped: bool


@dataclass(frozen=True)
class EvidencePicture:
    """Everything the evidence page shows.

    ``old_enough_on``: the day the next tier's ``youngest`` age is reached, None where it is reached
    or unknown. ``meets_weekly``: the days of further tries are those of the athlete's classes.
    ``chances``: that the next try is clean, by skill code.
    """

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    rules: Rules
    coaches_needed: int
    blocks: tuple[SkillEvidence, ...]
    change: WhatWouldChange
    skills: dict[str, Skill]
    chances: dict[str, float]
    age: float | None
    youngest: float | None
    old_enough_on: date | None
    meets_weekly: bool
    learnt_before: date
    engine_version: str


def see_evidence(*, athlete: Athlete, today: date) -> EvidencePicture:
    """Put one athlete's evidence together as of the end of ``today``."""
    known = know_athletes(athletes=[athlete], today=today)
    told, floors = known.picture, age_floors(known.skills)
    said = known.readiness[0]
    meetings = _meetings_ahead(athlete, today)
    weekly = [today + timedelta(days=ahead) for ahead in range(WEEK, MOST_DAYS + 1, WEEK)]
    change = what_would_change(
        told,
        0,
        known.log,
        days=[day.toordinal() for day in meetings or weekly],
        age_floors=floors,
        pauses=known.holds.stretches([athlete]).get(athlete.code, ()),
    )
    youngest = floors.get(said.next_tier) if said.next_tier is not None else None
    return EvidencePicture(
        athlete=athlete,
        readiness=said,
        holds=known.holds.in_force(athlete),
        rules=told.rules,
        coaches_needed=told.evidence.coaches_needed,
        blocks=_blocks(known, today),
        change=change,
        skills=known.skills,
        chances={
            skill.code: float(told.chance[0, column])
            for column, skill in enumerate(told.catalogue.skills)
        },
        age=athlete.age_on(today),
        youngest=youngest,
        old_enough_on=_old_enough_on(athlete, youngest, today),
        meets_weekly=bool(meetings),
        learnt_before=known.learnt_before,
        engine_version=VERSION,
    )


def _meetings_ahead(athlete: Athlete, today: date) -> list[date]:
    """Days on which the athlete's classes meet, after today; none where no weekday is known."""
    running = Enrolment.objects.filter(
        Q(until__isnull=True) | Q(until__gt=today), gym_class__weekday__isnull=False
    ).filter(athlete=athlete)
    places = list(running.values_list("gym_class__weekday", "since", "until").order_by())
    ahead = (today + timedelta(days=number) for number in range(1, MOST_DAYS + 1))
    return [
        day
        for day in ahead
        if any(
            day.weekday() == weekday and since <= day and (until is None or day <= until)
            for weekday, since, until in places
        )
    ]


def _old_enough_on(athlete: Athlete, youngest: float | None, today: date) -> date | None:
    """The first day, after today, on which the athlete has this age."""
    age = athlete.age_on(today)
    if youngest is None or age is None or age >= youngest:
        return None

    def age_after(days: int) -> float:
        return athlete.age_on(today + timedelta(days=days)) or 0.0

    return today + timedelta(days=bisect_left(range(OLDEST), youngest, key=age_after))


def _blocks(known: Known, today: date) -> tuple[SkillEvidence, ...]:
    """The skills that count: those that hold back first, as the engine names them."""
    told, weakest = known.picture, known.readiness[0].holding_back
    slipped = slipped_gates(told, 0)
    columns = [*slipped, *asked_of_tier(told, 0)]
    codes = [told.catalogue.skills[column].code for column in columns]
    attempts = _attempts(known.athletes[0], codes, today)
    found = [
        _block(known, column, attempts.get(code, []), slipped=column in slipped)
        for column, code in zip(columns, codes, strict=True)
    ]
    place = {code: number for number, code in enumerate(weakest)}
    return tuple(
        sorted(found, key=lambda one: (place.get(one.skill.code, len(place)), not one.bars))
    )


def _attempts(athlete: Athlete, codes: list[str], today: date) -> dict[str, list[Attempt]]:
    """The attempts that count, by skill code, newest first: one query.

    Of attempts at the same moment misses come first, as the engine has them last.
    """
    rows = (
        Attempt.objects.standing()
        .filter(athlete=athlete, skill__code__in=codes, at__lt=end_of(today))
        .select_related("skill", "coach", "variant", "supersedes")
    )
    found: dict[str, list[Attempt]] = {}
    for attempt in sorted(rows, key=lambda one: (-one.at.timestamp(), LEVEL[one.result])):
        found.setdefault(attempt.skill.code, []).append(attempt)
    return found


def _block(known: Known, column: int, attempts: list[Attempt], *, slipped: bool) -> SkillEvidence:
    told = known.picture
    code = told.catalogue.skills[column].code
    fresh_from = told.on_day - told.rules.fresh_days
    run = int(told.evidence.run[0, column]) if told.catalogue.skills[column].gate else 0
    return SkillEvidence(
        skill=known.skills[code],
        estimate=told.estimate(0, column),
        parts=_slipped_part(known, column) if slipped else _parts(known, column),
        attempts=tuple(
            SeenAttempt(attempt, _weight(number, attempt, run, fresh_from))
            for number, attempt in enumerate(attempts)
        ),
        bars=slipped or not is_no_bar(told, 0, column),
        holds_back=code in known.readiness[0].holding_back,
        slipped=slipped,
    )


def _weight(number: int, attempt: Attempt, run: int, fresh_from: int) -> Weight:
    if number < run:
        return Weight.IN_RUN
    day = timezone.localdate(attempt.at).toordinal()
    return Weight.TOO_OLD if day < fresh_from else Weight.COUNTS


def _slipped_part(known: Known, column: int) -> tuple[PartOfRule, ...]:
    told = known.picture
    sure, asks = float(told.confidence[0, column]), told.rules.nearly_confidence
    return (PartOfRule(Part.SURE, sure >= asks, sure, asks),)


def _parts(known: Known, column: int) -> tuple[PartOfRule, ...]:
    """The rule for one skill of the tier, part by part, as the engine counts it."""
    told, rules, evidence = known.picture, known.picture.rules, known.picture.evidence
    gate = told.catalogue.skills[column].gate
    counts = [
        (Part.CLEAN, evidence.clean, rules.clean_attempts),
        (Part.CLEAN_DAYS, evidence.clean_days, rules.clean_days),
    ]
    if gate:
        counts = [
            (Part.RUN, evidence.run, rules.gate_clean_in_a_row),
            (Part.RUN_DAYS, evidence.run_days, rules.gate_days),
            (Part.RUN_COACHES, evidence.run_coaches, evidence.coaches_needed),
        ]
    parts = [
        PartOfRule(part, int(has[0, column]) >= asks, int(has[0, column]), asks)
        for part, has, asks in counts
    ]
    if not gate:
        shown, fresh_from = int(evidence.shown[0, column]), told.on_day - rules.fresh_days
        seen = None if shown == NEVER else date.fromordinal(shown)
        parts.append(
            PartOfRule(Part.FRESH, shown >= fresh_from, seen, date.fromordinal(fresh_from))
        )
    sure, asks = float(told.confidence[0, column]), rules.secure_confidence
    # A skill that is no gate may be less sure by itself; all together are asked for a chance.
    parts.append(PartOfRule(Part.SURE, sure >= asks, sure, asks, bars=gate))
    return tuple(parts)
