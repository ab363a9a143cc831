"""The evidence a coach can recite: counts, days, coaches and runs of clean tries, per skill."""

from dataclasses import dataclass
from graphlib import TopologicalSorter

import numpy as np
from numpy.typing import NDArray

from progress.engine.log import UNKNOWN, Log
from progress.engine.outcomes import CLEAN, Ints
from progress.engine.rules import Rules
from progress.engine.terms import Catalogue

Flags = NDArray[np.bool_]
NEVER = -1  # in arrays of venue days


@dataclass(frozen=True)
class Evidence:
    """Arrays of shape (athletes, skills) on the day asked.

    ``attempts`` and the ``days`` they were made on, ``clean`` ones and their ``clean_days`` are
    counted over the whole log, ``recent`` attempts over the last ``fresh_days``. ``last``: venue
    day (``date.toordinal``) of the last attempt; ``shown``: see ``last_shown``; -1 where none.
    ``last_result``: 0, 1, 2, -1 where none. ``run`` is how many of the latest were
    clean in a row within the fresh days, ``run_days`` and ``run_coaches`` the days and coaches of
    that whole run: one more clean try never takes a day or a coach away. A coach nobody knows
    does not make a second one. ``floor``: is the evidence floor met?
    """

    attempts: Ints
    days: Ints
    recent: Ints
    last: Ints
    shown: Ints
    last_result: Ints
    clean: Ints
    clean_days: Ints
    run: Ints
    run_days: Ints
    run_coaches: Ints
    floor: Flags
    coaches_needed: int


def gather_evidence(catalogue: Catalogue, log: Log, rules: Rules, on_day: int) -> Evidence:
    """Count the evidence in ``log`` (attempts up to the end of ``on_day``) for every skill.

    For a gate the whole run of clean tries must be fresh. Any other skill must have been shown
    clean within the fresh days, itself or through a skill that needs it: children are checked
    seldom, so asking for every try again would leave hardly anybody with evidence for a tier.
    A gate asks for a second coach where ``log.coaches`` names two, even if one of them recorded
    none of these athletes.
    """
    tally = _Tally(len(log.athletes), len(catalogue.skills), log)
    every = np.ones(len(log), dtype=bool)
    fresh = tally.day >= on_day - rules.fresh_days
    clean = tally.result == CLEAN
    run, run_days, run_coaches = tally.run(fresh & clean)
    clean_count, clean_days = tally.count(clean), tally.distinct_days(clean)
    last_clean = tally.latest(tally.day, clean)
    coaches_needed = max(1, min(rules.gate_coaches, len(log.coaches)))
    gate_floor = run >= rules.gate_clean_in_a_row
    gate_floor &= (run_days >= rules.gate_days) & (run_coaches >= coaches_needed)
    plain_floor = (clean_count >= rules.clean_attempts) & (clean_days >= rules.clean_days)
    shown = last_shown(catalogue, last_clean)
    plain_floor &= shown >= on_day - rules.fresh_days
    gate = np.array([skill.gate for skill in catalogue.skills], dtype=bool)
    return Evidence(
        attempts=tally.count(every),
        days=tally.distinct_days(every),
        recent=tally.count(fresh),
        last=tally.latest(tally.day, every),
        shown=shown,
        last_result=tally.latest(tally.result, every),
        clean=clean_count,
        clean_days=clean_days,
        run=run,
        run_days=run_days,
        run_coaches=run_coaches,
        floor=np.where(gate, gate_floor, plain_floor),
        coaches_needed=coaches_needed,
    )


def last_shown(catalogue: Catalogue, last_clean: Ints) -> Ints:
    """Latest day a skill was shown clean, itself or through a skill that needs it.

    Nobody lands cleanly from the higher drop without the lower one, so a clean try at a skill is
    a fresh look at everything it needs. Venue days, shape (athletes, skills), -1 where never.
    """
    shown = last_clean.copy()
    for column in reversed(in_order_of_need(catalogue)):
        for need in catalogue.skills[column].needs:
            place = catalogue.position[need]
            shown[:, place] = np.maximum(shown[:, place], shown[:, column])
    return shown


def in_order_of_need(catalogue: Catalogue) -> list[int]:
    """Columns so that every skill comes after all it needs."""
    needs = {skill.code: skill.needs for skill in catalogue.skills}
    return [catalogue.position[code] for code in TopologicalSorter(needs).static_order()]


class _Tally:
    """The log sorted by athlete, skill and time, with sums for each pair."""

    def __init__(self, athletes: int, skills: int, log: Log) -> None:
        self.shape = (athletes, skills)
        pair = log.athlete * skills + log.skill
        order = np.lexsort((log.when, pair))
        self.pair = pair[order]
        self.day = log.day[order]
        self.result = log.result[order]
        self.coach = log.coach[order]
        ends = np.flatnonzero(np.diff(self.pair, append=-1))
        starts = np.flatnonzero(np.diff(self.pair, prepend=-1))
        self.end_of = np.repeat(ends, ends - starts + 1)

    def count(self, keep: Flags) -> Ints:
        size = self.shape[0] * self.shape[1]
        return np.bincount(self.pair[keep], minlength=size).reshape(self.shape)

    def distinct_days(self, keep: Flags) -> Ints:
        pair, day = self.pair[keep], self.day[keep]
        new = (np.diff(pair, prepend=-1) != 0) | (np.diff(day, prepend=-1) != 0)
        size = self.shape[0] * self.shape[1]
        return np.bincount(pair[new], minlength=size).reshape(self.shape)

    def latest(self, values: Ints, keep: Flags) -> Ints:
        found = np.full(self.shape[0] * self.shape[1], NEVER, dtype=np.int64)
        found[self.pair[keep]] = values[keep]  # sorted by time, so the last one written stays
        return found.reshape(self.shape)

    def run(self, good: Flags) -> tuple[Ints, Ints, Ints]:
        """Length, days and coaches of the unbroken run of good attempts that ends each pair."""
        rows = len(good)
        bad_after = np.minimum.accumulate(np.where(good, rows, np.arange(rows))[::-1])[::-1]
        inside = bad_after > self.end_of
        length = self.count(inside)
        known = inside & (self.coach != UNKNOWN)
        width = int(self.coach.max(initial=0)) + 1
        names = np.unique(self.pair[known] * width + self.coach[known])
        coaches = np.bincount(names // width, minlength=length.size).reshape(self.shape)
        return length, self.distinct_days(inside), np.maximum(coaches, np.minimum(length, 1))
