"""How often "ready" and "building" are wrong, on simulated gyms::

    python -m tests.bench.readiness [seeds]

Truly ready is who has a true chance at the standard or above at every required skill of the tier.
Only athletes with four checks at each of them are judged. False-ready: called ready among those
who are not. Missed-ready is read in two ways: called building, and not called ready, among those
who are. Targets: at most 5% false-ready with at most 25% missed, in each reading, and 90% of
chances within their 90% intervals, 86% to 94% allowed.

The yardsticks call an athlete ready by each skill alone: by rules people use, or where a baseline
predicts at least the standard at every required skill.
"""

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from progress.engine.calibration import calibrate
from progress.engine.evidence import gather_evidence
from progress.engine.outcomes import CLEAN
from progress.engine.picture import Picture, picture
from progress.engine.readiness import readiness
from progress.engine.rules import Rules
from progress.engine.scores import log_loss
from progress.engine.terms import Decision
from tests.bench.gyms import GYMS
from tests.bench.tables import met, show
from tests.simulated_gyms import SimulatedGym, simulate

Flags = NDArray[np.bool_]
FEWEST_CHECKS = 4
FALSE_READY, MISSED_READY = 0.05, 0.25
LEAST_COVERED, MOST_COVERED = 0.86, 0.94


@dataclass(frozen=True)
class Judged:
    """One gym judged: who was truly ready, what was said, and what rules would say."""

    truly: Flags
    enough: Flags
    p_ready: NDArray[np.float64]
    decision: NDArray[np.str_]
    covered: Flags
    by_rule: Mapping[str, Flags]


def judge(gym: SimulatedGym) -> Judged:
    """Learn from the whole log and answer on the last day."""
    learnt = calibrate(gym.catalogue, gym.tiers, gym.log)
    told = picture(gym.catalogue, gym.athletes, gym.log, learnt, Rules(), gym.on_day)
    return Judged(
        truly=gym.truly_ready,
        enough=gym.fewest_checks >= FEWEST_CHECKS,
        p_ready=told.p_ready,
        decision=np.array([said.decision.value for said in readiness(told)]),
        by_rule=rules_of_thumb(gym, told),
        covered=covered(gym, told),
    )


def covered(gym: SimulatedGym, told: Picture) -> Flags:
    """Whether each true chance at a skill required now lies within its 90% interval."""
    low, high = told.interval
    inside = (low <= gym.chance) & (gym.chance <= high)
    columns = [list(gym.catalogue.of_tier(tier)) for tier in gym.tiers]
    return np.concatenate([inside[row, of] for row, of in enumerate(columns)])


def rules_of_thumb(gym: SimulatedGym, told: Picture) -> dict[str, Flags]:
    """What people use instead, over every required skill of the tier."""
    said = {
        "3 of the last 4 clean, 2 days": last_tries(gym, 4, 3, days=2),
        "80% of the last 10 clean": last_tries(gym, 10, 8, days=1),
        "80% of all tries clean": rate(gym, told) >= 0.8,
        "engine: each skill alone likely": told.confidence >= 0.5,
    }
    columns = [list(gym.catalogue.of_tier(tier)) for tier in gym.tiers]
    return {
        name: np.array([skills[row, columns[row]].all() for row in range(len(columns))])
        for name, skills in said.items()
    }


def last_tries(gym: SimulatedGym, last: int, clean: int, days: int) -> Flags:
    """Whether so many of the last tries at each skill were clean, on so many days at least."""
    found = np.zeros(gym.chance.shape, dtype=bool)
    log = gym.log
    pair = log.athlete * found.shape[1] + log.skill
    for one in np.unique(pair):
        rows = np.flatnonzero(pair == one)[-last:]
        enough = len(rows) == last and len(set(log.day[rows])) >= days
        found.flat[one] = enough and (log.result[rows] == CLEAN).sum() >= clean
    return found


def rate(gym: SimulatedGym, told: Picture) -> NDArray[np.float64]:
    """Share of clean tries at each skill; 0 where there are none."""
    counts = gather_evidence(gym.catalogue, gym.log, told.rules, gym.on_day)
    return np.asarray(counts.clean / np.maximum(counts.attempts, 1))


def share(of: Flags, among: Flags) -> float:
    """Share of ``among`` that is also ``of``."""
    return float((of & among).sum() / max(among.sum(), 1))


def row_of(name: str, who: str, judged: Judged, ready: Flags, building: Flags) -> list[object]:
    there, truly = judged.enough, judged.truly
    false = share(ready, there & ~truly)
    missed, not_called = share(building, there & truly), share(~ready, there & truly)
    asked = who == "engine"
    good = [
        met(false <= FALSE_READY and m <= MISSED_READY) if asked else ""
        for m in (missed, not_called)
    ]
    left = share(~ready & ~building, there)
    counts = f"{int((there & truly).sum())} of {int(there.sum())}"
    return [name, counts, who, false, missed, not_called, left, *good]


def rows_of(name: str, judged: Judged) -> list[list[object]]:
    """The engine, its joint probability alone, and the rules of thumb."""
    ready = judged.decision == Decision.READY
    building = judged.decision == Decision.BUILDING
    likely, unlikely = judged.p_ready >= Rules().ready_at, judged.p_ready <= Rules().building_at
    rows = [
        row_of(name, "engine", judged, ready, building),
        row_of("", "engine: p_ready alone", judged, likely, unlikely),
    ]
    for who, called in judged.by_rule.items():
        rows.append(row_of("", who, judged, called, ~called))
    return rows


def fifths(name: str, judged: Judged) -> list[object]:
    """What p_ready said and how many were truly ready, by fifths of p_ready."""
    part = np.minimum((judged.p_ready * 5).astype(int), 4)
    cells = []
    for one in range(5):
        mine = part == one
        said, true = judged.p_ready[mine], judged.truly[mine]
        cells.append(f"{said.mean():.2f} {true.mean():.2f} ({mine.sum()})" if mine.any() else "-")
    loss = log_loss(judged.p_ready, judged.truly.astype(np.int64))
    rate = float(judged.truly.mean())
    plain = -(rate * np.log(rate) + (1 - rate) * np.log(1 - rate))
    return [name, *cells, loss, float(plain)]


def pooled(found: Sequence[Judged]) -> Judged:
    """Several gyms as one."""
    return Judged(
        *(
            np.concatenate([getattr(one, field) for one in found])
            for field in ("truly", "enough", "p_ready", "decision", "covered")
        ),
        by_rule={
            rule: np.concatenate([one.by_rule[rule] for one in found]) for rule in found[0].by_rule
        },
    )


def main(seeds: int) -> None:
    """Print the two tables over all gyms."""
    rows, calibration, coverage = [], [], []
    for name, habits in GYMS.items():
        judged = pooled([judge(simulate(seed, habits)) for seed in range(1, seeds + 1)])
        rows.extend(rows_of(name, judged))
        calibration.append(fifths(name, judged))
        inside = float(judged.covered.mean())
        within = met(LEAST_COVERED <= inside <= MOST_COVERED)
        coverage.append([name, len(judged.covered), inside, within])
    columns = ["gym", "truly ready", "who", "false-ready", "called building"]
    columns += ["not called ready", "left open", "5%, 25% building", "5%, 25% not ready"]
    show(f"Readiness of athletes with {FEWEST_CHECKS} checks at each skill", columns, rows)
    show("Chances within their 90% interval", ["gym", "chances", "inside", "86-94%"], coverage)
    by = ["0-0.2", "0.2-0.4", "0.4-0.6", "0.6-0.8", "0.8-1"]
    title = "p_ready by fifths, everybody: mean said, share truly ready (number)"
    show(title, ["gym", *by, "log loss", "of the share alone"], calibration)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2)
