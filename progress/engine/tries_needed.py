"""Search for a smallest set of further clean tries that reaches a goal, by asking the engine.

Three kinds of question, each put for all skills at once: what a few more tries at one skill do
(``_path`` orders them by that), how far along that path the goal is reached, and which of the tries
on the way there can be left out again.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from progress.engine.evidence import in_order_of_need
from progress.engine.log import UNKNOWN
from progress.engine.outcomes import CLEAN, Floats
from progress.engine.picture import Picture
from progress.engine.supposing import Case, FurtherTry, Supposing

Tried = Mapping[int, int]  # column of a skill to a number of clean tries


@dataclass(frozen=True)
class Goal:
    """Which rows of a supposed picture are there, and how near each is: more is nearer."""

    met: Callable[[Picture], list[bool]]
    score: Callable[[Picture], Floats]


@dataclass(frozen=True)
class Plan:
    """Tries by skill column, with the meetings they take and the first of them, counted from 0.

    ``first``: columns whose tries come before those of the skills that need them.
    """

    tried: Tried
    days: Mapping[int, int]
    start: Mapping[int, int]
    new_coaches: Mapping[int, int]
    begun: Mapping[int, bool]
    first: frozenset[int]
    last_day: int


@dataclass(frozen=True)
class Asked:
    """What a skill's evidence floor still asks for: clean tries, days and coaches not met yet."""

    clean: int
    days: int
    coaches: tuple[int, ...]
    begun: bool


@dataclass(frozen=True)
class Reach:
    """Who is asked about, and how far the search may go: ``ahead`` are the next meetings."""

    known: Supposing
    ahead: Sequence[int]
    most: int

    @cached_property
    def lenient_first(self) -> tuple[int, ...]:
        """The gym's coaches; a clean try tells least where the coach is lenient."""
        log, severity = self.known.log, self.known.picture.parameters.severity
        codes = sorted(log.coaches, key=lambda code: (severity.get(code, 0.0), code))
        return tuple(log.coaches.index(code) for code in codes) or (UNKNOWN,)

    @cached_property
    def needs(self) -> tuple[frozenset[int], ...]:
        """For each skill the columns of all it needs, and of what that needs in turn."""
        catalogue = self.known.picture.catalogue
        found: dict[int, frozenset[int]] = {}
        for column in in_order_of_need(catalogue):
            direct = {catalogue.position[code] for code in catalogue.skills[column].needs}
            found[column] = frozenset(direct.union(*(found[one] for one in direct)))
        return tuple(found[column] for column in range(len(catalogue.skills)))

    def asked(self, column: int, day: int) -> Asked:
        """What the floor of this skill will ask for on ``day``, when older evidence has aged.

        An earlier tier is behind the athlete: its skills are held without a floor.
        """
        told = self.known.picture
        skill, rules = told.catalogue.skills[column], told.rules
        if skill.tier < self.known.athlete.tier:
            return Asked(1, 1, (), False)
        log = self.known.log
        rows = np.flatnonzero(log.skill == column)
        good = (log.result[rows] == CLEAN) & (log.day[rows] >= day - rules.fresh_days)
        if not skill.gate:
            clean = rows[log.result[rows] == CLEAN]
            days = rules.clean_days - len(set(log.day[clean]))
            more = max(rules.clean_attempts - len(clean), days, 0 if good.any() else 1)
            return Asked(more, max(days, 1), (), len(clean) > 0)
        bad = np.flatnonzero(~good)
        run = rows[bad[-1] + 1 :] if len(bad) else rows
        coaches = self._new_coaches({int(coach) for coach in log.coach[run]} - {UNKNOWN})
        days = rules.gate_days - len(set(log.day[run]))
        more = max(rules.gate_clean_in_a_row - len(run), days, len(coaches), 0)
        return Asked(more, max(days, 1), coaches, len(run) > 0)

    def _new_coaches(self, seen: set[int]) -> tuple[int, ...]:
        needed = self.known.picture.evidence.coaches_needed
        others = [coach for coach in self.lenient_first if coach not in seen]
        return tuple(others[: max(needed - len(seen), 0)]) if needed > 1 else ()


@dataclass(frozen=True)
class _Schedule:
    """When the tries at each skill are made, by whom, and in which order."""

    reach: Reach
    first: frozenset[int]
    asked: Mapping[int, Asked]

    @classmethod
    def of(cls, reach: Reach, columns: Sequence[int], first: frozenset[int]) -> "_Schedule | None":
        """The schedule for tries at these skills; None where the meetings ahead are too few."""
        meetings = 1
        while meetings <= len(reach.ahead):
            day = reach.ahead[meetings - 1]
            found = cls(reach, first, {column: reach.asked(column, day) for column in columns})
            takes = found.meetings(dict.fromkeys(columns, reach.most))
            if takes <= meetings:
                return found
            meetings = takes
        return None

    def days(self, column: int, count: int) -> int:
        return min(count, self.asked[column].days)

    def start(self, column: int, tried: Tried) -> int:
        """The first meeting at this skill: after those at the skills it needs."""
        before = self.reach.needs[column] & self.first
        ends = [
            self.start(one, tried) + self.days(one, tried[one]) for one in before if tried.get(one)
        ]
        return max(ends, default=0)

    def needed_by(self, tried: Tried) -> set[int]:
        """Columns that the skills with tries need."""
        return set().union(*(self.reach.needs[column] for column, count in tried.items() if count))

    def meetings(self, tried: Tried) -> int:
        """How many meetings these tries take."""
        ends = (self.start(c, tried) + self.days(c, count) for c, count in tried.items() if count)
        return max(ends, default=0)

    def case(self, tried: Tried) -> Case:
        """These tries as a case to ask about, at the end of the last meeting they take."""
        placed = []
        for column, count in tried.items():
            start, days = self.start(column, tried), self.days(column, count)
            needed = len(self.reach.needs[column])
            for number in range(count):
                meeting = start + number * days // count
                placed.append((meeting, needed, column, self._coach(column, number)))
        tries = tuple(
            FurtherTry(column, CLEAN, coach, self.reach.ahead[meeting])
            for meeting, _, column, coach in sorted(placed, key=lambda one: one[:3])
        )
        return Case(tries, tries[-1].day if tries else self.reach.known.picture.on_day)

    def _coach(self, column: int, number: int) -> int:
        new = self.asked[column].coaches
        return new[number] if number < len(new) else self.reach.lenient_first[0]


def smallest(
    reach: Reach, columns: Sequence[int], goal: Goal, first: Mapping[int, int]
) -> Plan | None:
    """A set of clean tries at ``columns`` that reaches the goal, none of which can be left out.

    ``first``: tries to make before, by column. None where the goal is not reached with
    ``reach.most`` tries at each skill in the meetings ahead. That fewer tries elsewhere would do in
    another mixture of skills is possible, though the search prefers the skills that help most.
    """
    if not columns:
        return None
    every = sorted({*columns, *first})
    schedule = _Schedule.of(reach, every, frozenset(first))
    if schedule is None or any(schedule.asked[c].clean > reach.most for c in columns):
        return None
    floor = {c: schedule.asked[c].clean if c in columns else 0 for c in every}
    floor = {c: max(count, first.get(c, 0)) for c, count in floor.items()}
    path = _path(schedule, floor, columns, goal)
    met = goal.met(reach.known.ask([schedule.case(tried) for tried in path]))
    if not any(met):
        return None
    left = _leave_out(schedule, path[met.index(True)], first, goal)
    return _as_plan(schedule, left)


def _path(schedule: _Schedule, floor: Tried, columns: Sequence[int], goal: Goal) -> list[Tried]:
    """From the floor one try at a time, each where it helps most, up to the most at every skill."""
    reach = schedule.reach
    steps = [(c, count) for c in columns for count in range(floor[c], reach.most + 1)]
    supposed = reach.known.ask([schedule.case({**floor, c: count}) for c, count in steps])
    score = dict(zip(steps, goal.score(supposed), strict=True))
    skills, here = reach.known.picture.catalogue.skills, dict(floor)
    tier = reach.known.athlete.tier
    secure = [step for row, step in enumerate(steps) if supposed.secure[row, step[0]]]
    for column in columns:
        if skills[column].gate and skills[column].tier == tier:
            # A gate must be secure by itself, whatever the others add.
            enough = (count for place, count in secure if place == column)
            here[column] = next(enough, floor[column])
    path: list[Tried] = [dict(here)]
    while any(here[column] < reach.most for column in columns):
        open_ones = [column for column in columns if here[column] < reach.most]
        best = max(open_ones, key=lambda c: score[c, here[c] + 1] - score[c, here[c]])
        here[best] += 1
        path.append(dict(here))
    return path


def _leave_out(schedule: _Schedule, tried: Tried, first: Tried, goal: Goal) -> Tried:
    """Take tries away while the goal stays reached, the longest stretch at one skill first.

    ``first`` stays as it is at skills that others with tries need.
    """
    here = dict(tried)
    while True:
        needed = schedule.needed_by(here)
        lowest = {c: first.get(c, 0) if c in needed else 0 for c in here}
        fewer = [(c, count) for c in here for count in range(lowest[c], here[c])]
        if not fewer:
            return here
        supposed = schedule.reach.known.ask([schedule.case({**here, c: n}) for c, n in fewer])
        score = goal.score(supposed)
        found = [
            (here[column] - count, float(score[row]), -column, count)
            for row, ((column, count), met) in enumerate(
                zip(fewer, goal.met(supposed), strict=True)
            )
            if met
        ]
        if not found:
            return here
        _, _, column, count = max(found)
        here[-column] = count


def _as_plan(schedule: _Schedule, tried: Tried) -> Plan:
    asked = {column: count for column, count in tried.items() if count}
    return Plan(
        tried=asked,
        days={column: schedule.days(column, count) for column, count in asked.items()},
        start={column: schedule.start(column, asked) for column in asked},
        new_coaches={c: min(len(schedule.asked[c].coaches), n) for c, n in asked.items()},
        begun={column: schedule.asked[column].begun for column in asked},
        first=schedule.first & schedule.needed_by(asked) & frozenset(asked),
        last_day=schedule.case(asked).on_day,
    )
