"""How fast the filter replays a log: 1,000,000 attempts of 20,000 athletes at 32 skills.

Run it on a quiet machine::

    python -m tests.bench.replay

Targets: a million attempts a second on two cores, and three times a plain Elo in Python. The
second needs the extra "fast" (numba); the arrays alone are one and a half to two times as fast.
"""

from collections.abc import Sequence
from math import exp
from time import perf_counter

import numpy as np

from progress.engine.compiled import HAS_COMPILER
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.replay import replay
from progress.engine.terms import Result
from tests.bench.tables import met, show
from tests.simulated_gyms import ladder_catalogue

ATTEMPTS, ATHLETES, DAYS = 1_000_000, 20_000, 250
CATALOGUE = ladder_catalogue(ladders=8, tiers=4)
FASTEST, TIMES_ELO, ROUNDS = 1_000_000, 3.0, 3


def made_up_log(tries_a_meeting: int) -> Log:
    """Random results; every athlete's tries fall on meetings of so many tries each."""
    dice = np.random.default_rng(1)
    meetings = ATTEMPTS // tries_a_meeting
    athlete = np.repeat(dice.integers(0, ATHLETES, meetings), tries_a_meeting)
    day = np.repeat(dice.integers(0, DAYS, meetings), tries_a_meeting).astype(np.float64)
    when = day + 0.7 + np.tile(np.arange(tries_a_meeting) * 0.001, meetings)
    order = np.lexsort((when, athlete))
    nobody = np.full(ATTEMPTS, -1)
    return Log(
        athletes=tuple(f"A{number}" for number in range(ATHLETES)),
        coaches=(),
        variants=(),
        athlete=athlete[order],
        skill=dice.integers(0, len(CATALOGUE.skills), ATTEMPTS),
        when=when[order],
        result=dice.integers(0, 3, ATTEMPTS),
        coach=nobody,
        variant=nobody,
    )


def rows_by_code(log: Log) -> list[tuple[str, str, str]]:
    """The log as a file would give it, in the order of time: athlete, skill, result."""
    order = np.argsort(log.when, kind="stable")
    codes = [skill.code for skill in CATALOGUE.skills]
    words = [result.value for result in Result]
    columns = (column[order].tolist() for column in (log.athlete, log.skill, log.result))
    return [
        (log.athletes[athlete], codes[skill], words[result])
        for athlete, skill, result in zip(*columns, strict=True)
    ]


def plain_elo(rows: Sequence[tuple[str, str, str]]) -> float:
    """Seconds for ratings kept by code, one attempt after another, as it is usually written.

    The step of a rating falls with the number of attempts (Pelanek 2016, Computers & Education
    98:169-179).
    """
    rating: dict[str, float] = {}
    count: dict[str, int] = {}
    start = perf_counter()
    for athlete, skill, result in rows:
        ability, difficulty = rating.get(athlete, 0.0), rating.get(skill, 0.0)
        surprise = (result == "clean") - 1.0 / (1.0 + exp(difficulty - ability))
        tried, asked = count.get(athlete, 0), count.get(skill, 0)
        rating[athlete] = ability + surprise / (1.0 + 0.05 * tried)
        rating[skill] = difficulty - surprise / (1.0 + 0.05 * asked)
        count[athlete], count[skill] = tried + 1, asked + 1
    return perf_counter() - start


def bare_elo(log: Log) -> float:
    """Seconds for the same on numbered lists made ready beforehand: the least Python can do."""
    order = np.argsort(log.when, kind="stable")
    columns = (column[order].tolist() for column in (log.athlete, log.skill, log.result))
    rows = list(zip(*columns, strict=True))
    ability, difficulty = [0.0] * ATHLETES, [0.0] * len(CATALOGUE.skills)
    tried, asked = [0] * ATHLETES, [0] * len(CATALOGUE.skills)
    start = perf_counter()
    for athlete, skill, result in rows:
        surprise = (result == 2) - 1.0 / (1.0 + exp(difficulty[skill] - ability[athlete]))
        ability[athlete] += surprise / (1.0 + 0.05 * tried[athlete])
        difficulty[skill] -= surprise / (1.0 + 0.05 * asked[skill])
        tried[athlete] += 1
        asked[skill] += 1
    return perf_counter() - start


def engine(log: Log, threads: int) -> float:
    """Seconds, the best of a few rounds."""
    parameters = Parameters.before_any_log(CATALOGUE)
    tiers = [1 + athlete % 4 for athlete in range(ATHLETES)]
    seconds = []
    for _ in range(ROUNDS):
        start = perf_counter()
        replay(CATALOGUE, tiers, log, parameters, DAYS + 10.0, threads=threads)
        seconds.append(perf_counter() - start)
    return min(seconds)


def main() -> None:
    """Time both logs and print one table."""
    rows: list[list[object]] = []
    for tries_a_meeting in (1, 4):
        log = made_up_log(tries_a_meeting)
        by_code = rows_by_code(log)
        plain = min(plain_elo(by_code) for _ in range(ROUNDS))
        bare = min(bare_elo(log) for _ in range(ROUNDS))
        for name, seconds in (("plain Elo, by code", plain), ("bare Elo, numbered lists", bare)):
            speed, times = ATTEMPTS / seconds, plain / seconds
            rows.append([name, tries_a_meeting, seconds, speed, times, "", ""])
        for threads in (1, 2):
            seconds = engine(log, threads)
            speed, times = ATTEMPTS / seconds, plain / seconds
            target = (met(speed >= FASTEST), met(times >= TIMES_ELO)) if threads == 2 else ("", "")
            how = "compiled" if HAS_COMPILER else "arrays"
            name = f"filter, {how}, {threads} thread{'s' if threads > 1 else ''}"
            rows.append([name, tries_a_meeting, seconds, speed, times, *target])
    columns = ["what", "tries a meeting", "seconds", "attempts/s", "times Elo"]
    show(f"Replay of {ATTEMPTS:,} attempts", [*columns, "1,000,000/s", "3 x Elo"], rows)


if __name__ == "__main__":
    main()
