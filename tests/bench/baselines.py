"""Plain ways to predict the next attempt, kept for good as yardsticks.

All know what the engine knows at the start of a day, and nothing of that day. Where a baseline has
a number to choose, it is chosen on the days of training.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit
from sklearn.ensemble import HistGradientBoostingClassifier
from sklearn.linear_model import LogisticRegression
from sklearn.preprocessing import OneHotEncoder, StandardScaler

from progress.engine.log import Log
from progress.engine.outcomes import CLEAN
from tests.simulated_gyms import SimulatedGym

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Counted:
    """Clean and other attempts before the day of each attempt, one row an attempt of the log."""

    clean: Ints
    at_skill: Floats  # clean, other
    on_ladder: Floats
    in_all: Floats
    of_everybody: Floats  # at the skill
    who: Ints  # skill, coach, tier

    @property
    def columns(self) -> Floats:
        """All counts of the athlete, as a baseline's columns."""
        return np.hstack([self.at_skill, self.on_ladder, self.in_all])


def days_of(log: Log) -> Iterator[tuple[int, Ints]]:
    """Each day of the log with its rows."""
    day = log.day
    for one in np.unique(day):
        yield int(one), np.flatnonzero(day == one)


def count(gym: SimulatedGym) -> Counted:
    """Walk through the days, counting."""
    log, ladder_of = gym.log, np.array(gym.catalogue.ladder_of)
    athletes, skills = gym.chance.shape
    tally = np.zeros((athletes, skills, 2))
    clean = (log.result == CLEAN).astype(np.int64)
    parts = np.zeros((4, len(log), 2))
    same_ladder = (ladder_of[:, None] == ladder_of).astype(float)
    for _, rows in days_of(log):
        who, what = log.athlete[rows], log.skill[rows]
        parts[0, rows] = tally[who, what]
        parts[1, rows] = np.einsum("nsk,ns->nk", tally[who], same_ladder[what])
        parts[2, rows] = tally[who].sum(axis=1)
        parts[3, rows] = tally.sum(axis=0)[what]
        np.add.at(tally, (who, what, 1 - clean[rows]), 1)
    tiers = np.array(gym.tiers)[log.athlete]
    return Counted(clean, *parts, who=np.stack([log.skill, log.coach, tiers], axis=1))


def base_rate(told: Counted) -> Floats:
    """How often anybody has been clean at the skill so far."""
    return np.asarray((told.of_everybody[:, 0] + 1) / (told.of_everybody.sum(axis=1) + 2))


def running_rate(told: Counted, train: NDArray[np.bool_]) -> Floats:
    """The athlete's own rate at the skill, shrunk to the base rate."""
    base = base_rate(told)

    def rate(weight: float) -> Floats:
        tries = told.at_skill.sum(axis=1)
        return np.asarray((told.at_skill[:, 0] + weight * base) / (tries + weight))

    options = [rate(weight) for weight in (0.5, 1, 2, 4, 8, 16)]
    return min(options, key=lambda p: log_loss(p[train], told.clean[train]).mean())


def logistic(told: Counted, train: NDArray[np.bool_]) -> Floats:
    """Logistic regression on counts of successes and failures, with skills, coaches and tiers."""
    names = OneHotEncoder().fit_transform(told.who).toarray()
    counts = StandardScaler().fit_transform(np.log1p(told.columns))
    columns = np.hstack([names, counts])
    model = LogisticRegression(C=1.0, max_iter=500).fit(columns[train], told.clean[train])
    return np.asarray(model.predict_proba(columns)[:, 1])


def boosting(told: Counted, train: NDArray[np.bool_]) -> Floats:
    """Gradient boosting on the same."""
    columns = np.hstack([told.who, told.columns])
    model = HistGradientBoostingClassifier(
        max_iter=150, learning_rate=0.05, max_leaf_nodes=15, random_state=1
    )
    model.fit(columns[train], told.clean[train])
    return np.asarray(model.predict_proba(columns)[:, 1])


def elo(gym: SimulatedGym, train: NDArray[np.bool_]) -> Floats:
    """Ratings of athletes and skills; the first step and how fast it falls are chosen."""
    clean = (gym.log.result == CLEAN).astype(np.int64)
    options = [_elo(gym, clean, step, fall) for step in (0.4, 0.8) for fall in (0.01, 0.05, 0.2)]
    return min(options, key=lambda p: log_loss(p[train], clean[train]).mean())


def _elo(gym: SimulatedGym, clean: Ints, step: float, fall: float) -> Floats:
    log, said = gym.log, np.zeros(len(gym.log))
    ability = (np.array(gym.tiers) - 1.0).tolist()
    skills = gym.catalogue.skills
    difficulty = [skill.tier - 1.0 for skill in skills]
    tried, asked = [0] * len(ability), [0] * len(skills)
    for _, rows in days_of(log):
        who, what = log.athlete[rows].tolist(), log.skill[rows].tolist()
        gaps = [ability[a] - difficulty[s] for a, s in zip(who, what, strict=True)]
        said[rows] = expit(gaps)
        for row, a, s in zip(rows.tolist(), who, what, strict=True):
            surprise = float(clean[row] - expit(ability[a] - difficulty[s]))
            ability[a] += step * surprise / (1 + fall * tried[a])
            difficulty[s] -= step * surprise / (1 + fall * asked[s])
            tried[a] += 1
            asked[s] += 1
    return said


def log_loss(said: Floats, clean: Ints) -> Floats:
    """Loss of each prediction in nats."""
    sure = np.clip(said, 1e-6, 1 - 1e-6)
    return np.asarray(-np.where(clean == 1, np.log(sure), np.log(1 - sure)))
