"""What would make an athlete ready, and what would take a "ready" back, found by asking again.

Nothing is promised by rule of thumb: every plan of further tries has been put to the engine as if
the tries had happened, and the engine said ready. Tries are taken to be clean, at the skill itself
and not at an easier variant, and seen by the gym's most lenient coaches, whose clean tries tell
least; so the promise holds whoever sees them. A hold, a youngest age and the top tier are named
and never planned around, and no gate is ever left out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from progress.engine.evidence import in_order_of_need
from progress.engine.log import Log
from progress.engine.picture import Picture
from progress.engine.readiness import readiness
from progress.engine.supposing import Supposing
from progress.engine.taken_back import TakenBack, taken_back
from progress.engine.terms import Decision
from progress.engine.tier_asks import asked_of_tier, slipped_gates
from progress.engine.tries_needed import Goal, Plan, Reach, Tried, smallest

MOST_TRIES = 12  # further clean tries at one skill; more is practice, not a check
MOST_DAYS = 56  # and how far ahead they may lie


class Obstacle(StrEnum):
    """What stands in the way and no try can change."""

    HOLD = "hold"
    LADDER_HOLD = "ladder_hold"
    TOO_YOUNG = "too_young"
    SKILL_AGE = "skill_age"
    TOP_TIER = "top_tier"


class Outlook(StrEnum):
    """What further tries could do for the answer."""

    READY = "ready"  # already
    FURTHER_TRIES = "further_tries"
    BARRED = "barred"
    OUT_OF_REACH = "out_of_reach"


@dataclass(frozen=True)
class FurtherClean:
    """Clean tries asked for at one skill, in a row, spread over ``days`` meetings.

    ``new_coaches``: at least so many of them by coaches who have none of the present run, or, where
    there is no run, by so many different coaches. ``begun``: there is a run that these continue.
    ``first``: other skills of the plan need this one, so it comes before them.
    """

    skill: str
    clean: int
    days: int
    new_coaches: int
    begun: bool
    first: bool


@dataclass(frozen=True)
class WhatWouldChange:
    """``further`` makes the athlete ready at the end of venue day ``by``, or is empty."""

    outlook: Outlook
    obstacles: tuple[Obstacle, ...] = ()
    further: tuple[FurtherClean, ...] = ()
    by: int | None = None
    too_young_for: tuple[str, ...] = ()
    taken_back: TakenBack | None = None


def what_would_change(
    picture: Picture,
    row: int,
    log: Log,
    *,
    days: Sequence[int],
    age_floors: Mapping[int, float] | None = None,
    pauses: Sequence[tuple[float, float]] = (),
) -> WhatWouldChange:
    """The answer for the athlete in ``row`` of ``picture``, which was made from ``log``.

    ``days``: the athlete's next meetings, rising venue days after the day of the picture; those
    more than ``MOST_DAYS`` ahead are left out. ``pauses``: the athlete's holds as the picture had
    them. ValueError where a meeting does not lie ahead.
    """
    if any(day <= picture.on_day for day in days):
        raise ValueError("further tries lie on days after the day of the picture")
    floors = age_floors or {}
    known = Supposing(picture, row, log.of([row]), floors, pauses)
    barred = _obstacles(known)
    if barred:
        return WhatWouldChange(Outlook.BARRED, barred)
    if readiness(picture, floors)[row].decision is Decision.READY:
        return WhatWouldChange(Outlook.READY, taken_back=taken_back(known))
    ahead = tuple(day for day in days if day <= picture.on_day + MOST_DAYS)
    plan = _plan(Reach(known, ahead, MOST_TRIES))
    if plan is not None:
        return WhatWouldChange(
            Outlook.FURTHER_TRIES, further=_in_order(known, plan), by=plan.last_day
        )
    young = _too_young_for(known)
    if young:
        return WhatWouldChange(Outlook.BARRED, (Obstacle.SKILL_AGE,), too_young_for=young)
    return WhatWouldChange(Outlook.OUT_OF_REACH)


def _obstacles(known: Supposing) -> tuple[Obstacle, ...]:
    athlete = known.athlete
    next_tier = known.picture.catalogue.next_tier(athlete.tier)
    youngest = known.age_floors.get(next_tier) if next_tier is not None else None
    young = youngest is not None and athlete.age is not None and athlete.age < youngest
    found = (
        (next_tier is None, Obstacle.TOP_TIER),
        (athlete.held, Obstacle.HOLD),
        (bool(athlete.held_ladders), Obstacle.LADDER_HOLD),
        (young, Obstacle.TOO_YOUNG),
    )
    return tuple(obstacle for stands, obstacle in found if stands)


def _young(known: Supposing, column: int) -> bool:
    youngest, age = known.picture.catalogue.skills[column].minimum_age, known.athlete.age
    return youngest is not None and age is not None and age < youngest


def _too_young_for(known: Supposing) -> tuple[str, ...]:
    """Skills of the tier, not secure, at which the athlete may not be checked yet."""
    skills, secure = known.picture.catalogue.skills, known.picture.secure[known.row]
    return tuple(
        skills[c].code
        for c in asked_of_tier(known.picture, known.row)
        if _young(known, c) and not secure[c]
    )


def _plan(reach: Reach) -> Plan | None:
    """A smallest set of clean tries after which the engine says ready, None within the bounds.

    Where a planned skill needs one that is not held, that one comes first; so the search starts
    over with it in the plan until nothing planned lacks a need.
    """
    known = reach.known
    slipped = slipped_gates(known.picture, known.row)
    of_tier = asked_of_tier(known.picture, known.row)
    open_ones = [c for c in (*of_tier, *slipped) if not _young(known, c)]
    goal = _ready(known, slipped)
    first: Tried = {}
    while True:
        plan = smallest(reach, open_ones, goal, first)
        if plan is None:
            return None
        lacking = _lacking(known, plan) - set(first)
        if not lacking:
            return plan
        asked = sorted(lacking | set(first))
        if any(_young(known, column) for column in asked):
            return None
        before = _held_one_by_one(reach, asked)
        if before is None:
            return None
        first = before


def _held_one_by_one(reach: Reach, columns: Sequence[int]) -> dict[int, int] | None:
    """Clean tries that make each of ``columns`` held before what needs it; None out of bounds.

    Asked for together, a try higher up would show what lies below it, and nobody may go there yet.
    """
    first: dict[int, int] = {}
    for column in in_order_of_need(reach.known.picture.catalogue):
        if column in columns:
            held = smallest(reach, [column], _held([column]), first)
            if held is None:
                return None
            first[column] = held.tried.get(column, 0)
    return first


def _lacking(known: Supposing, plan: Plan) -> set[int]:
    """Skills not held today that planned ones need, and what those need in turn.

    What a held skill needs is not asked for: whether one may be tried rests on its own needs.
    """
    catalogue, held = known.picture.catalogue, known.picture.held[known.row]
    left = list(plan.tried)
    found: set[int] = set()
    while left:
        for code in catalogue.skills[left.pop()].needs:
            column = catalogue.position[code]
            if not held[column] and column not in found:
                found.add(column)
                left.append(column)
    return found


def _ready(known: Supposing, slipped: Sequence[int]) -> Goal:
    """Ready by the engine's word; a gate that slipped must be mended, not left to be forgotten."""

    def met(supposed: Picture) -> list[bool]:
        sure = supposed.confidence[:, slipped] >= supposed.rules.nearly_confidence
        answers = known.answers(supposed)
        return [
            answer.decision is Decision.READY and bool(sure[row].all())
            for row, answer in enumerate(answers)
        ]

    return Goal(met, lambda supposed: np.log(np.maximum(supposed.p_ready, 1e-300)))


def _held(columns: Sequence[int]) -> Goal:
    """All of ``columns`` held, as other skills need them."""
    return Goal(
        lambda supposed: [bool(held.all()) for held in supposed.held[:, columns]],
        lambda supposed: np.log(np.maximum(supposed.confidence[:, columns], 1e-300)).sum(axis=1),
    )


def _in_order(known: Supposing, plan: Plan) -> tuple[FurtherClean, ...]:
    """The plan skill by skill: what others need first, then the least likely held first."""
    skills, confidence = known.picture.catalogue.skills, known.picture.confidence[known.row]
    found = [
        FurtherClean(
            skill=skills[column].code,
            clean=count,
            days=plan.days[column],
            new_coaches=plan.new_coaches[column],
            begun=plan.begun[column],
            first=column in plan.first,
        )
        for column, count in sorted(
            plan.tried.items(),
            key=lambda item: (
                plan.start[item[0]],
                item[0] not in plan.first,
                confidence[item[0]],
                item[0],
            ),
        )
    ]
    return tuple(found)
