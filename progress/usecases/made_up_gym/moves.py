"""Who moved up when in the made-up gym's year: decisions by the lead, drawn after everything else.

Nothing but these decisions comes from this draw, so attempts and children are the same without it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from django.utils import timezone

from progress.usecases.made_up_gym.checks import AttemptPlan
from progress.usecases.made_up_gym.people import ChildPlan
from progress.usecases.made_up_gym.register import CAREFUL_DAYS, Register
from progress.usecases.made_up_gym.scenario import WELL_CHECKED
from progress.usecases.made_up_gym.visits import Hall, Pupil
from progress.usecases.made_up_gym.year import past_meetings

SHARE_MOVED = 0.6  # of those whose move could have fallen into this year
EARLY_RATHER = (1.3, 2.0)  # where in the possible days a move falls; nearer the first of them
SETTLED_DAYS = 28  # from joining to the first decision
LEAST_TRIES = 6  # at skills of the tier that is left, before the decision
LEAST_TRIES_BEFORE = 3  # the same for the first of two moves, further back
BETWEEN_MOVES = timedelta(weeks=8)
LATELY = timedelta(weeks=5)  # those who wait for a place were moved up within this time
MOST_WAITING = 3  # the others stay in their class
AFTER_CLASS = timedelta(minutes=30)
UNDONE_AFTER = timedelta(hours=15)  # the next morning
UNDONE_BEFORE = timedelta(weeks=4)  # before the decision that stands


@dataclass(frozen=True)
class MovePlan:
    """One decision of the lead; ``stays``: in the present class, although it is for other tiers."""

    athlete: str
    from_tier: int
    to_tier: int
    at: datetime
    sentence: str
    stays: bool = False
    undone_at: datetime | None = None


@dataclass(frozen=True)
class Diary:
    """Where the days of decisions come from: registers, the log and what children can truly do.

    ``tries``: the days of tries by athlete code and tier, oldest first; ``youngest``: by tier the
    age in years from which children may be in it.
    """

    hall: Hall
    register: Register
    tries: Mapping[tuple[str, int], Sequence[date]]
    youngest: Mapping[int, float]

    @classmethod
    def of(
        cls,
        hall: Hall,
        register: Register,
        attempts: Sequence[AttemptPlan],
        tiers: Sequence[Mapping[str, Any]],
    ) -> "Diary":
        """Gather the days on which each child tried skills of each tier."""
        tries: dict[tuple[str, int], list[date]] = {}
        for attempt in attempts:
            tier = int(hall.truth.tier[hall.truth.place[attempt.skill]])
            if attempt.supersedes is None:
                tries.setdefault((attempt.athlete, tier), []).append(attempt.day)
        youngest = {tier["number"]: tier["minimum_age"] or 0.0 for tier in tiers}
        return cls(hall, register, {key: sorted(days) for key, days in tries.items()}, youngest)

    def days(self, pupil: Pupil, to_tier: int, least: int = LEAST_TRIES) -> list[date]:
        """Days on which the lead could well have decided that a child goes up to ``to_tier``.

        The child was there, had tried the tier below often enough, was old enough and truly about
        able.
        """
        child, found, youngest = pupil.child, [], self.youngest[to_tier]
        tried = self.tries.get((child.code, to_tier - 1), ())
        if len(tried) < least:
            return []
        first = max(tried[least - 1], child.joined + timedelta(days=SETTLED_DAYS))
        for meeting in past_meetings(child.class_, self.hall.year):
            here = self.register.get((child.class_.code, meeting.day), {}).get(child.code)
            able = pupil.ability.working_tier(meeting.week, child.tier) >= to_tier
            old_enough = child.age_on(meeting.day) >= youngest
            if here and able and old_enough and meeting.day >= first:
                found.append(meeting.day)
        return found


def plan_moves(
    rng: np.random.Generator, diary: Diary, pupils: Sequence[Pupil]
) -> tuple[MovePlan, ...]:
    """Draw the year's decisions, oldest first; each leads to the tier the child is in today."""
    scenario = diary.hall.floors.scenario
    sentences = scenario.words["moved_up"]
    moves: list[MovePlan] = []
    for pupil in pupils:
        for to_tier, day in draw_days(rng, diary, pupil):
            sentence = sentences[int(rng.integers(len(sentences)))]
            at = after_class(pupil.child, day)
            moves.append(MovePlan(pupil.child.code, to_tier - 1, to_tier, at, sentence))
    moves.sort(key=lambda move: (move.at, move.athlete))
    moves = keep_in_class(moves, {pupil.child.code: pupil.child for pupil in pupils})
    return tuple(sorted([*moves, *undone(diary, pupils, moves)], key=lambda m: (m.at, m.athlete)))


def draw_days(rng: np.random.Generator, diary: Diary, pupil: Pupil) -> Iterator[tuple[int, date]]:
    """Draw the day of a child's last move up, and of the one before where that was this year too.

    Those waiting for a place in a class of their tier were moved lately.
    """
    child = pupil.child
    today = diary.hall.year.today
    days = diary.days(pupil, child.tier) if child.tier > 1 else []
    moved, place = rng.random() < SHARE_MOVED, float(rng.beta(*EARLY_RATHER))
    if outgrown(child):
        moved, days = True, [day for day in days if day >= today - LATELY]
    if child.story in WELL_CHECKED:
        days = [day for day in days if (today - day).days >= CAREFUL_DAYS]
    if not (days and moved):
        return
    last = days[int(len(days) * place)]
    if child.tier > 2:
        before = diary.days(pupil, child.tier - 1, LEAST_TRIES_BEFORE)
        before = [day for day in before if day <= last - BETWEEN_MOVES]
        if before:
            yield child.tier - 1, before[0]
    yield child.tier, last


def outgrown(child: ChildPlan) -> bool:
    """Whether a child who still comes has grown out of the tiers of the class."""
    tiers = child.class_.tiers
    return child.left is None and bool(tiers) and child.tier > max(tiers)


def after_class(child: ChildPlan, day: date) -> datetime:
    """When the lead writes a decision down: half an hour after the child's class."""
    ends = datetime.combine(day, child.class_.starts_at) + timedelta(minutes=child.class_.minutes)
    return timezone.make_aware(ends + AFTER_CLASS, timezone.get_default_timezone())


def keep_in_class(moves: Sequence[MovePlan], children: Mapping[str, ChildPlan]) -> list[MovePlan]:
    """Let only the latest few wait for a place; others who have outgrown their class stay."""
    outgrew = [
        place
        for place, move in enumerate(moves)
        if outgrown(children[move.athlete]) and move.to_tier == children[move.athlete].tier
    ]
    staying = set(outgrew[:-MOST_WAITING])
    return [
        replace(move, stays=True) if place in staying else move for place, move in enumerate(moves)
    ]


def undone(diary: Diary, pupils: Sequence[Pupil], moves: Sequence[MovePlan]) -> Iterator[MovePlan]:
    """One decision that came too early and was undone the next morning."""
    by_code = {pupil.child.code: pupil for pupil in pupils}
    for move in moves:
        pupil = by_code[move.athlete]
        early = (move.at - UNDONE_BEFORE).date()
        days = [day for day in diary.days(pupil, move.to_tier) if day <= early]
        if days:
            at = after_class(pupil.child, days[0])
            yield replace(move, at=at, stays=False, undone_at=at + UNDONE_AFTER)
            return
