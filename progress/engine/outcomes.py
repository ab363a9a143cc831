"""How a try turns out: the three results as a function of ability, and what one try teaches.

With ``x`` the athlete's ability minus everything that makes the try hard (skill or variant
difficulty, coach severity), all in logits, and help gap ``h > 0``::

    P(clean) = s(x)        P(at least assisted) = s(x + h)        s(x) = 1 / (1 + exp(-x))

This is the cumulative logit model (McCullagh 1980, J. R. Stat. Soc. B 42:109-142).
"""

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MISS, ASSISTED, CLEAN = 0, 1, 2
FARTHEST = 40.0  # logits; beyond this exp() adds nothing but overflow


def normal_nodes(count: int) -> tuple[Floats, Floats]:
    """Gauss-Hermite nodes and weights for the standard normal, ``count`` of each."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return nodes, weights / weights.sum()


NODES, WEIGHTS = normal_nodes(11)
MOMENTS = np.stack([WEIGHTS, WEIGHTS * NODES, WEIGHTS * NODES**2], axis=1)


def likelihood(x: Floats, result: Ints, help_gap: Floats) -> Floats:
    """Probability of each ``result`` (0 miss, 1 assisted, 2 clean) at ``x`` logits.

    ``result`` and ``help_gap`` broadcast against ``x``. One exponential serves all three results:
    with E = exp(-x) and k = exp(-h) they are 1/(1+E), (1-k)E/((1+E)(1+kE)) and kE/(1+kE), which
    is (alpha + beta E) / (1 + (gamma + delta) E + gamma delta E^2) throughout.
    """
    odds = np.exp(np.minimum(-x, FARTHEST))
    kept = np.exp(-help_gap)
    alpha, is_miss = (result == CLEAN).astype(float), result == MISS
    beta = np.where(is_miss, kept, 1.0 - kept) * (1.0 - alpha)
    gamma, delta = 1.0 - is_miss, kept * (1.0 - alpha)
    below = (gamma * delta) * odds
    below += gamma + delta
    below *= odds
    below += 1.0
    odds *= beta
    odds += alpha
    odds /= below
    return np.asarray(odds)


def learn(
    mean: Floats, variance: Floats, result: Ints, help_gap: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return (log predictive probability, new mean, new variance) of ``x`` after one try.

    ``x`` is normal before the try; afterwards it is replaced by the normal with the same mean and
    variance as the exact posterior (moment matching by Gauss-Hermite quadrature). All arguments
    are arrays of one length.
    """
    sd = np.sqrt(variance)
    at_nodes = mean[:, None] + sd[:, None] * NODES
    seen = likelihood(at_nodes, result[:, None], help_gap[:, None])
    total, first, second = (seen @ MOMENTS).T
    first = first / total
    spread = second / total - first**2
    # Very surprising results can leave a few ulps below zero.
    return np.log(total), mean + sd * first, variance * np.maximum(spread, 1e-6)


def chance_of_clean(mean: Floats, variance: Floats) -> Floats:
    """Probability that the next try is clean, over the uncertainty in ``x``."""
    at_nodes = mean[..., None] + np.sqrt(variance)[..., None] * NODES
    return np.asarray(expit(at_nodes) @ WEIGHTS)


def chance_interval(mean: Floats, variance: Floats, z: float = 1.6448536) -> tuple[Floats, Floats]:
    """Bounds of the chance that hold with 90% probability (``z`` for another level)."""
    reach = z * np.sqrt(variance)
    return np.asarray(expit(mean - reach)), np.asarray(expit(mean + reach))
