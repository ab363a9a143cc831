"""Plain ways to predict the next attempt that stand beside the engine in its report card.

All know what the engine knows at the start of a day, and nothing of that day. Where one has a
number to choose, it is chosen on the days before the judged ones.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import expit

from progress.engine.evidence import Flags
from progress.engine.log import Log
from progress.engine.outcomes import CLEAN, Floats, Ints
from progress.engine.scores import log_loss
from progress.engine.terms import Catalogue

WEIGHTS = (0.5, 1.0, 2.0, 4.0, 8.0, 16.0)  # attempts that the base rate stands for
ELO_STEPS, ELO_FALLS = (0.4, 0.8), (0.01, 0.05, 0.2)
NEWTON_STEPS = 50


@dataclass(frozen=True)
class Counted:
    """Clean and other attempts before the day of each attempt of a log.

    The arrays of counts have shape (attempts, 2), clean first: the athlete's own at the skill, on
    its ladder and in all, and everybody's at the skill. ``who`` is skill, coach and tier.
    """

    clean: Ints
    at_skill: Floats
    on_ladder: Floats
    in_all: Floats
    of_everybody: Floats
    who: Ints


def predict_plainly(
    catalogue: Catalogue, tiers: Sequence[int], log: Log, first_day: int
) -> dict[str, Floats]:
    """What each yardstick says of every attempt of ``log``, from before its day.

    Attempts before venue day ``first_day`` are for learning. Keys: ``base_rate``,
    ``running_rate``, ``logistic`` and ``elo``. ValueError if there is nothing to learn from.
    """
    learning = log.day < first_day
    if not learning.any():
        raise ValueError("there are no attempts before the first judged day")
    told = count(catalogue, tiers, log)
    return {
        "base_rate": base_rate(told),
        "running_rate": running_rate(told, learning),
        "logistic": logistic(told, learning),
        "elo": elo(catalogue, tiers, log, learning),
    }


def count(catalogue: Catalogue, tiers: Sequence[int], log: Log) -> Counted:
    """Walk through the days, counting."""
    ladder_of = np.array(catalogue.ladder_of)
    tally = np.zeros((len(log.athletes), len(ladder_of), 2))
    clean = (log.result == CLEAN).astype(np.int64)
    parts = np.zeros((4, len(log), 2))
    same_ladder = (ladder_of[:, None] == ladder_of).astype(float)
    everybody = np.zeros((len(ladder_of), 2))
    for rows in _days(log):
        who, what = log.athlete[rows], log.skill[rows]
        mine = tally[who]
        parts[0, rows] = tally[who, what]
        parts[1, rows] = np.einsum("nsk,ns->nk", mine, same_ladder[what])
        parts[2, rows] = mine.sum(axis=1)
        parts[3, rows] = everybody[what]
        np.add.at(tally, (who, what, 1 - clean[rows]), 1)
        np.add.at(everybody, (what, 1 - clean[rows]), 1)
    level = np.asarray(tiers, dtype=np.int64)[log.athlete]
    own, ladder, in_all, everyone = parts
    return Counted(clean, own, ladder, in_all, everyone, np.stack([log.skill, log.coach, level], 1))


def base_rate(told: Counted) -> Floats:
    """How often anybody has been clean at the skill so far, one clean and one other added."""
    return np.asarray((told.of_everybody[:, 0] + 1) / (told.of_everybody.sum(axis=1) + 2))


def running_rate(told: Counted, learning: Flags) -> Floats:
    """The athlete's own rate at the skill, shrunk to the base rate by the best of WEIGHTS."""
    base, tries = base_rate(told), told.at_skill.sum(axis=1)
    options = [(told.at_skill[:, 0] + w * base) / (tries + w) for w in WEIGHTS]
    return min(options, key=lambda said: log_loss(said[learning], told.clean[learning]))


def logistic(told: Counted, learning: Flags) -> Floats:
    """Logistic regression on logs of the counts, with skills, coaches and tiers."""
    counts = np.log1p(np.hstack([told.at_skill, told.on_ladder, told.in_all]))
    spread = counts[learning].std(axis=0)
    counts = (counts - counts[learning].mean(axis=0)) / np.where(spread > 0, spread, 1.0)
    names = [(values[:, None] == np.unique(values)).astype(float) for values in told.who.T]
    columns = np.hstack([*names, counts])
    return logistic_regression(columns[learning], told.clean[learning], columns)


def logistic_regression(known: Floats, clean: Ints, asked: Floats, ridge: float = 1.0) -> Floats:
    """Chances of rows ``asked`` by a regression on rows ``known`` of which ``clean`` came out.

    Maximises the log-likelihood less ``ridge`` / 2 times the squared coefficients, the intercept
    left free, by Newton's method; halving a step that overshoots.
    """
    x = np.hstack([known, np.ones((len(known), 1))])
    penalty = np.append(np.full(known.shape[1], ridge), 0.0)
    at = np.zeros(x.shape[1])
    cost = _penalised(x, clean, at, penalty)
    for _ in range(NEWTON_STEPS):
        said = expit(x @ at)
        slope = x.T @ (said - clean) + penalty * at
        bend = (x * (said * (1 - said))[:, None]).T @ x + np.diag(penalty + 1e-9)
        step = np.linalg.solve(bend, slope)
        size = 1.0
        while (new := _penalised(x, clean, at - size * step, penalty)) > cost and size > 1e-6:
            size /= 2
        at, gained, cost = at - size * step, cost - new, new
        if gained < 1e-10:
            break
    return np.asarray(expit(np.hstack([asked, np.ones((len(asked), 1))]) @ at))


def elo(catalogue: Catalogue, tiers: Sequence[int], log: Log, learning: Flags) -> Floats:
    """Ratings of athletes and skills; the first step and how fast it falls are chosen."""
    clean = (log.result == CLEAN).astype(np.int64)
    options = [
        elo_with(catalogue, tiers, log, step, fall) for step in ELO_STEPS for fall in ELO_FALLS
    ]
    return min(options, key=lambda said: log_loss(said[learning], clean[learning]))


def elo_with(
    catalogue: Catalogue, tiers: Sequence[int], log: Log, step: float, fall: float
) -> Floats:
    """Elo's ratings in logits: a surprise moves athlete and skill apart or together.

    A step is ``step`` / (1 + ``fall`` x attempts so far), for each side by its own attempts. Elo
    1978, The Rating of Chessplayers; with falling steps as in Pelanek 2016, Comput. Educ.
    98:169-179.
    """
    clean, said = (log.result == CLEAN).tolist(), np.zeros(len(log))
    ability = (np.asarray(tiers, dtype=float) - 1.0).tolist()
    difficulty = [skill.tier - 1.0 for skill in catalogue.skills]
    tried, asked = [0] * len(ability), [0] * len(difficulty)
    for rows in _days(log):
        who, what = log.athlete[rows].tolist(), log.skill[rows].tolist()
        said[rows] = expit([ability[a] - difficulty[s] for a, s in zip(who, what, strict=True)])
        for row, a, s in zip(rows.tolist(), who, what, strict=True):
            surprise = float(clean[row] - expit(ability[a] - difficulty[s]))
            ability[a] += step * surprise / (1 + fall * tried[a])
            difficulty[s] -= step * surprise / (1 + fall * asked[s])
            tried[a] += 1
            asked[s] += 1
    return said


def _days(log: Log) -> Iterator[Ints]:
    """The rows of each day, in order of days and within a day as in the log."""
    day = log.day
    order = np.argsort(day, kind="stable").astype(np.int64)
    edges = np.flatnonzero(np.diff(day[order])) + 1
    yield from np.split(order, edges) if len(order) else []


def _penalised(x: Floats, clean: Ints, at: Floats, penalty: Floats) -> float:
    """Minus the log-likelihood, plus the penalty."""
    reach = x @ at
    return float((np.logaddexp(0.0, reach) - clean * reach).sum() + 0.5 * penalty @ at**2)
