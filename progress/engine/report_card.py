"""The engine's own report card: what it said before each attempt against what happened."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from progress.engine.log import Log
from progress.engine.outcomes import Floats, Ints
from progress.engine.predictions import Predictions
from progress.engine.proportions import LEVEL
from progress.engine.scores import (
    TENTHS,
    CalibrationError,
    CurvePoint,
    Decomposition,
    brier,
    calibration_error,
    decompose,
    log_loss,
    log_losses,
    reliability_curve,
)
from progress.engine.terms import Catalogue
from progress.engine.yardsticks import predict_plainly

FEWEST = 30  # attempts; below, a part of the card would be mostly luck


@dataclass(frozen=True)
class Marks:
    """How good the predictions of some attempts were.

    ``said`` and ``seen`` are the mean chance and the share clean over all of them: the plainest
    check. Losses are nan and the rest None where there are no attempts.
    """

    attempts: int
    athletes: int
    said: float
    seen: float
    log_loss: float
    brier: float
    parts: Decomposition | None
    calibration: CalibrationError | None
    curve: tuple[CurvePoint, ...]


@dataclass(frozen=True)
class Against:
    """The engine beside one yardstick on the same attempts.

    ``gain``: mean log loss of the yardstick less the engine's, in nats; above 0 the engine is
    better. ``low`` and ``high`` bound it with athletes as clusters, None with fewer than two of
    them. ``better``: True where the engine is surely better, False where surely worse, else None.
    """

    log_loss: float
    brier: float
    gain: float
    low: float | None
    high: float | None

    @property
    def better(self) -> bool | None:
        """Whether the engine does better, where the attempts are enough to say."""
        if self.low is None or self.high is None or self.low <= 0 <= self.high:
            return None
        return self.low > 0


@dataclass(frozen=True)
class ReportCard:
    """Marks over all attempts judged from venue day ``first_day`` on, by ladder and by tier.

    Tiers are those of the skills. Ladders and tiers with fewer than FEWEST attempts are left out
    and named in ``too_few``. ``against``: by yardstick, see ``yardsticks``.
    """

    first_day: int
    overall: Marks
    by_ladder: Mapping[str, Marks]
    by_tier: Mapping[int, Marks]
    too_few: tuple[str | int, ...]
    against: Mapping[str, Against]


def report_card(
    catalogue: Catalogue, tiers: Sequence[int], log: Log, said: Predictions, first_day: int
) -> ReportCard:
    """Judge ``said`` (see ``said_before``, made with the same log and ``first_day``)."""
    skills = catalogue.skills
    ladder = np.array([skill.ladder for skill in skills])[said.skill]
    tier = np.array([skill.tier for skill in skills], dtype=np.int64)[said.skill]
    ladders = {name: said.only(ladder == name) for name in catalogue.ladders}
    levels = {number: said.only(tier == number) for number in catalogue.tiers}
    plain = predict_plainly(catalogue, tiers, log, first_day) if len(said) else {}
    return ReportCard(
        first_day=first_day,
        overall=marks(said),
        by_ladder={name: marks(part) for name, part in ladders.items() if len(part) >= FEWEST},
        by_tier={number: marks(part) for number, part in levels.items() if len(part) >= FEWEST},
        too_few=(
            *(name for name, part in ladders.items() if len(part) < FEWEST),
            *(number for number, part in levels.items() if len(part) < FEWEST),
        ),
        against={name: compare(said, said.by(chance[said.rows])) for name, chance in plain.items()},
    )


def marks(said: Predictions, edges: Floats = TENTHS, seed: int = 1) -> Marks:
    """The marks of these predictions, in bins of the chance between ``edges``."""
    some = len(said) > 0
    chance, clean = said.chance, said.clean
    return Marks(
        attempts=len(said),
        athletes=len(np.unique(said.athlete)),
        said=float(chance.mean()) if some else float("nan"),
        seen=float(clean.mean()) if some else float("nan"),
        log_loss=log_loss(chance, clean),
        brier=brier(chance, clean),
        parts=decompose(chance, clean, edges) if some else None,
        calibration=calibration_error(chance, clean, edges, seed=seed) if some else None,
        curve=reliability_curve(chance, clean, edges),
    )


def compare(ours: Predictions, theirs: Predictions, level: float = LEVEL) -> Against:
    """Hold the engine's predictions against another's of the same attempts.

    ValueError if the attempts are not the same.
    """
    if not np.array_equal(ours.rows, theirs.rows):
        raise ValueError("both must have predicted the same attempts")
    gain = log_losses(theirs.chance, ours.clean) - log_losses(ours.chance, ours.clean)
    mean, low, high = clustered_mean(gain, ours.athlete, level)
    return Against(
        log_loss=log_loss(theirs.chance, ours.clean),
        brier=brier(theirs.chance, ours.clean),
        gain=mean,
        low=low,
        high=high,
    )


def clustered_mean(
    values: Floats, cluster: Ints, level: float = LEVEL
) -> tuple[float, float | None, float | None]:
    """Mean of ``values`` and its bounds, values of one cluster free to hang together.

    Sandwich error with the factor G / (G - 1) and Student's t on G - 1 degrees of freedom for G
    clusters (Cameron & Miller 2015, J. Hum. Resour. 50:317-372). No bounds with one cluster.
    """
    if len(values) == 0:
        return float("nan"), None, None
    mean = float(values.mean())
    sums = np.bincount(np.unique(cluster, return_inverse=True)[1], weights=values - mean)
    groups = len(sums)
    if groups < 2:
        return mean, None, None
    error = np.sqrt(groups / (groups - 1) * np.square(sums).sum()) / len(values)
    half = float(stdtrit(groups - 1, 0.5 + level / 2) * error)
    return mean, mean - half, mean + half
