"""The replay as one compiled loop, for gyms whose logs are long: needs numba, answers the same.

The arrays take one try of every athlete at a time, so each number travels between memory and
processor every round. Here an athlete's whole log is taken in while the numbers are at hand. The
steps are those of ``Beliefs.drift``, ``Beliefs.observe`` and ``outcomes.learn``, written out for
one athlete; a test holds both ways to the same answers.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Any

import numpy as np

from progress.engine.beliefs import FADES_FASTER, LEAST_KEPT, LONG_BREAK, Beliefs
from progress.engine.outcomes import ASSISTED, CLEAN, FARTHEST, MOMENTS, NODES, Floats, Ints

try:
    from numba import njit
except ImportError:  # an extra: without it the arrays do the same, only slower
    njit = None  # type: ignore[assignment]

HAS_COMPILER = njit is not None
W0, W1, W2 = (np.ascontiguousarray(moment) for moment in MOMENTS.T)
OVERFLOWS = 700.0  # exp() of more has no number
LEAST_SPREAD = 1e-6  # as in outcomes.learn


def _compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """The function as machine code where there is a compiler; it holds no lock while it runs."""
    if njit is None:
        return function
    compiled: Callable[..., Any] = njit(nogil=True, error_model="numpy")(function)
    return compiled


@dataclass(frozen=True)
class LongLog:
    """A log with what it is up against, as the loop reads it.

    ``starts``: athlete a has the rows from ``starts[a]`` to ``starts[a + 1]``. ``extra`` and
    ``last_extra``: fading days that holds add before each attempt and after the last, empty where
    there are no holds. ``rates`` are per day: variance of general ability, of a ladder and of a
    skill, and growth. The last entries of ``severity`` and ``offset`` stand for unknown ones.
    """

    starts: Ints
    when: Floats
    skill: Ints
    result: Ints
    coach: Ints
    variant: Ints
    extra: Floats
    last_extra: Floats
    difficulty: Floats
    help_gap: Floats
    severity: Floats
    offset: Floats
    rates: Floats


def take_in(
    beliefs: Beliefs, athletes: range, log: LongLog, until: float, log_chance: Floats
) -> None:
    """Take in the attempts of a stretch of athletes and the time to venue day ``until``, in place.

    The log probability of each result goes into ``log_chance``.
    """
    told = tuple(vars(log).values())
    known = tuple(values for name, values in vars(beliefs).items() if name != "ladder_of")
    _take_in(athletes.start, athletes.stop, told, until, log_chance, beliefs.ladder_of, known)


@_compiled
def _take_in(
    first: int, last: int, told: Any, until: float, log_chance: Any, ladder_of: Any, known: Any
) -> None:
    starts, when, skill_of, result, coach, variant, extra, last_extra = told[:8]
    difficulty, help_gap, severity, offset, rates = told[8:]
    room = np.empty(len(NODES))
    for athlete in range(first, last):
        root = np.array((known[0][athlete], known[1][athlete], known[11][athlete]))
        ladder = (known[2][athlete], known[3][athlete], known[4][athlete])
        skill = (known[5][athlete], known[6][athlete], known[7][athlete])
        time = (known[8][athlete], known[9][athlete], known[10][athlete])
        begins, ends = starts[athlete], starts[athlete + 1]
        for row in range(begins, ends):
            if row > begins and np.floor(when[row]) > np.floor(when[row - 1]):
                more = extra[row] if len(extra) else 0.0
                if _drift(root, ladder, time, rates, when[row] - when[row - 1], more):
                    _settle(ladder_of, root, skill, time)
            column = skill_of[row]
            hardness = difficulty[column] + offset[variant[row]] + severity[coach[row]]
            against = (hardness, help_gap[column])
            place = (column, ladder_of[column])
            log_chance[row] = _observe(root, ladder, skill, time, place, result[row], against, room)
        more = last_extra[athlete] if len(last_extra) else 0.0
        rest = until - when[ends - 1] if ends > begins else 0.0
        _drift(root, ladder, time, rates, max(rest, 0.0), more)
        _settle(ladder_of, root, skill, time)
        known[0][athlete], known[1][athlete], known[11][athlete] = root


@_compiled
def _drift(root: Any, ladder: Any, time: Any, rates: Any, gap: float, more: float) -> bool:
    """Let ``gap`` days pass for one athlete, ``more`` counting for fading because of holds.

    True where so much was kept aside that it must be settled. See ``Beliefs.drift``.
    """
    faded = gap + (FADES_FASTER - 1.0) * max(gap - LONG_BREAK, 0.0) + more
    general, beside = rates[0] * faded, rates[1] * faded
    added, grown = general + beside, rates[3] * min(gap, LONG_BREAK)
    mean, variance, lowest = root[0], root[1], 1.0
    kept_root = variance / (variance + general)
    for at in range(len(ladder[0])):
        lag = ladder[0][at]
        up = 1.0 - lag
        ladder_mean = mean * up + ladder[1][at]
        total = ladder[2][at] + up * up * variance
        ladder[1][at] += lag * (kept_root * (mean + grown) - mean)
        ladder[2][at] += beside + general * kept_root * lag * lag
        ladder[0][at] = lag * kept_root
        kept, before = total / (total + added), time[0][at]
        time[1][at] += before * (kept * (ladder_mean + grown) - ladder_mean)
        time[2][at] += added * kept * before * before
        time[0][at] = before * kept
        lowest = min(lowest, before * kept)
    root[0] += grown
    root[1] += general
    root[2] += rates[2] * faded
    return lowest < LEAST_KEPT


@_compiled
def _settle(ladder_of: Any, root: Any, skill: Any, time: Any) -> None:
    """Put the time kept aside into one athlete's skills; see ``Beliefs.settle``."""
    for column in range(len(skill[0])):
        at, lag = ladder_of[column], skill[0][column]
        skill[0][column] = time[0][at] * lag
        skill[1][column] += time[1][at] * lag
        skill[2][column] += root[2] + time[2][at] * lag * lag
    time[0][:] = 1.0
    time[1][:] = 0.0
    time[2][:] = 0.0
    root[2] = 0.0


@_compiled
def _observe(
    root: Any, ladder: Any, skill: Any, time: Any, place: Any, result: int, against: Any, room: Any
) -> float:
    """Take in one try of one athlete; see ``Beliefs.observe``."""
    column, at = place
    hardness, help_gap = against
    up = 1.0 - ladder[0][at]
    ladder_mean = up * root[0] + ladder[1][at]
    with_root = up * root[1]
    ladder_total = ladder[2][at] + up * with_root
    kept, moved, widened, lag = time[0][at], time[1][at], time[2][at], skill[0][column]
    down = 1.0 - kept * lag
    mean = down * ladder_mean + skill[1][column] + moved * lag
    with_ladder = down * ladder_total
    alone = root[2] + widened * lag * lag
    total = skill[2][column] + alone + down * with_ladder
    log_chance, new_mean, new_total = _learn(mean - hardness, total, result, help_gap, room)
    new_mean += hardness
    pull, shrink = (new_mean - mean) / total, (total - new_total) / (total * total)

    root_skill = down * with_root
    with_root -= root_skill * with_ladder * shrink
    root[0] += root_skill * pull
    root[1] -= root_skill * root_skill * shrink
    ladder_mean += with_ladder * pull
    ladder_total -= with_ladder * with_ladder * shrink
    up = with_root / root[1]
    ladder[0][at] = 1.0 - up
    ladder[1][at] = ladder_mean - up * root[0]
    ladder[2][at] = ladder_total - up * with_root
    with_ladder *= 1.0 - total * shrink
    down = with_ladder / ladder_total
    lag = (1.0 - down) / kept
    skill[0][column] = lag
    skill[1][column] = new_mean - down * ladder_mean - moved * lag
    skill[2][column] = new_total - down * with_ladder - root[2] - widened * lag * lag
    return log_chance


@_compiled
def _learn(mean: float, variance: float, result: int, help_gap: float, odds: Any) -> Any:
    """What one try teaches; see ``outcomes.learn``. ``odds`` is room for a number a node."""
    sd, kept = sqrt(variance), exp(-help_gap)
    _odds(mean, sd, odds)
    if result == CLEAN:
        for place in range(len(odds)):
            odds[place] = 1.0 / (1.0 + odds[place])
    elif result == ASSISTED:
        for place in range(len(odds)):
            at = odds[place]
            odds[place] = (1.0 - kept) * at / ((1.0 + at) * (1.0 + kept * at))
    else:
        for place in range(len(odds)):
            at = kept * odds[place]
            odds[place] = at / (1.0 + at)
    total = first = second = 0.0
    for place in range(len(odds)):
        total += odds[place] * W0[place]
        first += odds[place] * W1[place]
        second += odds[place] * W2[place]
    first /= total
    spread = second / total - first * first
    return log(total), mean + sd * first, variance * max(spread, LEAST_SPREAD)


@_compiled
def _odds(mean: float, sd: float, odds: Any) -> None:
    """exp(-x) at the nodes; they lie alike on both sides of the middle, so half the work does."""
    middle, most = len(odds) // 2, exp(FARTHEST)
    at_middle = exp(min(-mean, OVERFLOWS))
    odds[middle] = min(at_middle, most)
    for beside in range(1, middle + 1):
        apart = exp(min(sd * NODES[middle + beside], OVERFLOWS))
        odds[middle + beside] = min(at_middle / apart, most)
        odds[middle - beside] = min(at_middle * apart, most)
