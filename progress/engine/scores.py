"""How good said chances were: losses, calibration, and how much of it could be luck.

``chance`` is what was said, ``clean`` 1 or 0 what happened; arrays of one length throughout.
"""

from dataclasses import dataclass

import numpy as np

from progress.engine.outcomes import Floats, Ints
from progress.engine.proportions import LEVEL, wilson

SUREST = 1e-6  # nobody is surer than this; a loss stays finite
TENTHS = np.linspace(0.0, 1.0, 11)


def log_losses(chance: Floats, clean: Ints) -> Floats:
    """Minus the log of what was said of what happened, in nats, one a prediction."""
    sure = np.clip(chance, SUREST, 1 - SUREST)
    return np.asarray(-np.where(clean == 1, np.log(sure), np.log(1 - sure)))


def log_loss(chance: Floats, clean: Ints) -> float:
    """Mean log loss in nats; ln 2 = 0.693 is what always saying 50% gets. nan for none."""
    return float(log_losses(chance, clean).mean()) if len(chance) else float("nan")


def brier(chance: Floats, clean: Ints) -> float:
    """Mean squared error of the chance (Brier 1950, Mon. Weather Rev. 78:1-3). nan for none."""
    return float(np.square(chance - clean).mean()) if len(chance) else float("nan")


@dataclass(frozen=True)
class Decomposition:
    """The Brier score taken apart; ``brier`` is the sum, with signs, of the other five.

    ``reliability`` (smaller is better): how far what happened was from what was said.
    ``resolution`` (larger is better): how far what happened in one bin was from the rest.
    ``uncertainty``: how open the question was. Where predictions that differ share a bin there is
    the variance ``within`` it and twice the covariance with what happened ``explained`` within it:
    brier = reliability - resolution + uncertainty + within - explained.
    """

    brier: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float = 0.0
    explained: float = 0.0


def decompose_groups(said: Floats, seen: Floats, weight: Floats) -> Decomposition:
    """Take apart from groups of equal predictions: chance ``said``, share ``seen``, ``weight``.

    Weights are scaled to sum to 1. Murphy 1973, J. Appl. Meteorol. 12:595-600.
    """
    part = np.asarray(weight, dtype=float) / np.sum(weight)
    rate = float(part @ seen)
    reliability = float(part @ np.square(said - seen))
    resolution = float(part @ np.square(seen - rate))
    uncertainty = rate * (1 - rate)
    total = reliability - resolution + uncertainty
    return Decomposition(total, reliability, resolution, uncertainty)


def decompose(chance: Floats, clean: Ints, edges: Floats | None = None) -> Decomposition:
    """Take the Brier score of single predictions apart; in bins where ``edges`` are given.

    Without edges predictions are grouped by their exact values, which is Murphy's own case. With
    edges the two terms of Stephenson, Coelho & Jolliffe 2008, Weather Forecast. 23:752-757, keep
    the sum exact. ValueError for no predictions.
    """
    if len(chance) == 0:
        raise ValueError("there are no predictions to take apart")
    place = np.unique(chance, return_inverse=True)[1] if edges is None else bins(chance, edges)
    size = np.bincount(place)
    filled = np.maximum(size, 1)
    said = np.bincount(place, weights=chance) / filled
    seen = np.bincount(place, weights=clean) / filled
    off_said, off_seen = chance - said[place], clean - seen[place]
    parts = decompose_groups(said, seen, size.astype(float))
    within = float(np.square(off_said).mean())
    explained = float(2 * (off_said * off_seen).mean())
    return Decomposition(
        brier=parts.brier + within - explained,
        reliability=parts.reliability,
        resolution=parts.resolution,
        uncertainty=parts.uncertainty,
        within=within,
        explained=explained,
    )


def bins(chance: Floats, edges: Floats) -> Ints:
    """The bin of each chance between rising ``edges``; an inner edge opens the upper bin."""
    return np.searchsorted(edges[1:-1], chance, side="right").astype(np.int64)


@dataclass(frozen=True)
class CurvePoint:
    """One bin of the reliability curve, and one line of the plain verdict.

    When the engine said about ``said`` (mean; between ``from_chance`` and ``to_chance``), it was
    clean in a share ``seen`` of ``attempts``; that share lies between ``low`` and ``high`` as far
    as so many attempts tell. ``fits``: whether ``said`` lies between them too.
    """

    from_chance: float
    to_chance: float
    said: float
    seen: float
    attempts: int
    low: float
    high: float

    @property
    def fits(self) -> bool:
        """Whether what was said agrees with what was seen, given the number of attempts."""
        return self.low <= self.said <= self.high


def reliability_curve(
    chance: Floats, clean: Ints, edges: Floats = TENTHS, level: float = LEVEL
) -> tuple[CurvePoint, ...]:
    """A point for every bin that has predictions, lowest first; Wilson intervals."""
    place, count = bins(chance, edges), len(edges) - 1
    size = np.bincount(place, minlength=count)
    hits = np.bincount(place, weights=clean, minlength=count).astype(np.int64)
    said = np.bincount(place, weights=chance, minlength=count) / np.maximum(size, 1)
    low, high = wilson(hits, size, level)
    return tuple(
        CurvePoint(
            from_chance=float(edges[one]),
            to_chance=float(edges[one + 1]),
            said=float(said[one]),
            seen=float(hits[one] / size[one]),
            attempts=int(size[one]),
            low=float(low[one]),
            high=float(high[one]),
        )
        for one in np.flatnonzero(size)
    )


@dataclass(frozen=True)
class CalibrationError:
    """Expected calibration error, and what luck alone makes of it.

    ``error`` is the mean gap between said and seen over bins, by number of predictions. Even a
    perfectly calibrated engine shows ``by_luck`` on average with as many attempts, and more than
    ``luck_high`` only once in twenty; ``p`` is how often luck alone gives at least ``error``.
    """

    error: float
    by_luck: float
    luck_high: float
    p: float


def calibration_error(
    chance: Floats, clean: Ints, edges: Floats = TENTHS, draws: int = 400, seed: int = 1
) -> CalibrationError:
    """The calibration error in bins, held against ``draws`` simulated perfect engines.

    The perfect engine says the same chances and they are true (consistency resampling: Broecker &
    Smith 2007, Weather Forecast. 22:651-661). ValueError for no predictions.
    """
    if len(chance) == 0:
        raise ValueError("there are no predictions to judge")
    order = np.argsort(bins(chance, edges), kind="stable")
    said, hit = chance[order], np.asarray(clean)[order]
    starts = np.flatnonzero(np.diff(bins(said, edges), prepend=-1))

    def error(happened: Floats) -> float:
        return float(np.abs(np.add.reduceat(said - happened, starts)).sum() / len(said))

    dice = np.random.default_rng(seed)
    lucky = np.array([error((dice.random(len(said)) < said).astype(float)) for _ in range(draws)])
    ours = error(hit.astype(float))
    # The observed case counts as one of the draws, so p is never 0.
    p = (1 + int((lucky >= ours).sum())) / (1 + draws)
    return CalibrationError(ours, float(lucky.mean()), float(np.quantile(lucky, 0.95)), p)
