"""How well the next attempt is predicted, against plain baselines, on simulated gyms::

    python -m tests.bench.prediction [seed]

The first 60% of days are for training (the engine's calibration is one on them); every attempt of
the other days is predicted from what was known before its day. The engine must beat each
baseline: the paired difference in log loss has a 95% interval over athletes.
"""

import sys
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from progress.engine.calibration import calibrate
from progress.engine.outcomes import chance_of_clean
from progress.engine.replay import replay
from tests.bench import baselines
from tests.bench.baselines import Floats, Ints, log_loss
from tests.bench.gyms import GYMS
from tests.bench.tables import met, show
from tests.simulated_gyms import SimulatedGym, simulate

TRAINING = 0.6


def engine(gym: SimulatedGym, first_day: int) -> Floats:
    """The chance said before the day of each attempt from ``first_day`` on; 0 before."""
    log = gym.log
    learnt = calibrate(gym.catalogue, gym.tiers, log.before(float(first_day)))
    severity = np.array([learnt.severity.get(coach, 0.0) for coach in log.coaches])
    said = np.zeros(len(log))
    for day, rows in baselines.days_of(log):
        if day < first_day:
            continue
        known = replay(gym.catalogue, gym.tiers, log.before(float(day)), learnt, float(day))
        mean, variance = known.beliefs.abilities()
        who, what = log.athlete[rows], log.skill[rows]
        hard = learnt.difficulty[what] + severity[log.coach[rows]]
        doubt = learnt.difficulty_sd[what] ** 2
        said[rows] = chance_of_clean(mean[who, what] - hard, variance[who, what] + doubt)
    return said


def predictions(gym: SimulatedGym) -> tuple[Mapping[str, Floats], NDArray[np.bool_]]:
    """What everyone says of each attempt, and which attempts are judged."""
    days = np.unique(gym.log.day)
    first_day = int(days[int(TRAINING * len(days))])
    judged = gym.log.day >= first_day
    told = baselines.count(gym)
    said = {
        "the truth itself": gym.true_clean,
        "engine": engine(gym, first_day),
        "base rate of the skill": baselines.base_rate(told),
        "running rate": baselines.running_rate(told, ~judged),
        "logistic regression": baselines.logistic(told, ~judged),
        "Elo": baselines.elo(gym, ~judged),
        "gradient boosting": baselines.boosting(told, ~judged),
    }
    return said, judged


def calibration_error(said: Floats, clean: Ints) -> float:
    """Expected calibration error over ten equal bins of the chance."""
    part = np.minimum((said * 10).astype(int), 9)
    size = np.bincount(part, minlength=10)
    gap = np.bincount(part, weights=said - clean, minlength=10)
    return float(np.abs(gap).sum() / size.sum())


def paired(loss: Floats, ours: Floats, athlete: Ints) -> tuple[float, float]:
    """Mean difference of losses and half of its 95% interval, athletes taken as clusters."""
    gap = loss - ours
    sums = np.bincount(athlete, weights=gap - gap.mean())
    return float(gap.mean()), float(1.96 * np.sqrt(np.square(sums).sum()) / len(gap))


def judge(name: str, gym: SimulatedGym) -> list[list[object]]:
    """A row for everyone who predicted."""
    said, judged = predictions(gym)
    clean = (gym.log.result[judged] == baselines.CLEAN).astype(np.int64)
    athlete = gym.log.athlete[judged]
    ours = log_loss(said["engine"][judged], clean)
    rows: list[list[object]] = []
    for who, chances in said.items():
        chance = chances[judged]
        loss = log_loss(chance, clean)
        gap, half = paired(loss, ours, athlete)
        brier, error = float(np.mean((chance - clean) ** 2)), calibration_error(chance, clean)
        yardstick = who not in ("the truth itself", "engine")
        better = met(gap - half > 0) if yardstick else ""
        difference = f"{gap:+.4f} ± {half:.4f}" if who != "engine" else ""
        rows.append([name, who, float(loss.mean()), brier, error, difference, better])
        name = ""
    return rows


def main(seed: int) -> None:
    """Print one table over all gyms."""
    rows = [row for name, habits in GYMS.items() for row in judge(name, simulate(seed, habits))]
    columns = ["gym", "who", "log loss", "Brier", "ECE", "less engine (95%)", "engine better"]
    show(f"Prediction of the next attempt, seed {seed}", columns, rows)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
