"""Shares of a count, with how far a small count can be trusted."""

import numpy as np
from scipy.special import ndtri

from progress.engine.outcomes import Floats, Ints

LEVEL = 0.90  # the probability with which every interval of the engine holds


def reach(level: float = LEVEL) -> float:
    """How many standard errors either side hold with probability ``level``."""
    if not 0 < level < 1:
        raise ValueError(f"an interval's level lies between 0 and 1, not {level}")
    return float(ndtri(0.5 + level / 2))


def wilson(count: Ints, of: Ints, level: float = LEVEL) -> tuple[Floats, Floats]:
    """Bounds of the share behind ``count`` seen ``of`` so many times; arrays of one shape.

    Score interval (Wilson 1927, J. Am. Stat. Assoc. 22:209-212), which stays sensible at 0 and 1
    where the textbook interval shrinks to nothing. Nothing seen: from 0 to 1.
    """
    seen, total = np.asarray(count, dtype=float), np.asarray(of, dtype=float)
    if np.any(seen < 0) or np.any(seen > total):
        raise ValueError("a count lies between nothing and the number it is out of")
    z = reach(level)
    known = np.maximum(total, 1.0)
    share = seen / known
    middle = share + z**2 / (2 * known)
    half = z * np.sqrt(share * (1 - share) / known + z**2 / (4 * known**2))
    scale = 1 + z**2 / known
    low = np.where(total > 0, np.maximum((middle - half) / scale, 0.0), 0.0)
    high = np.where(total > 0, np.minimum((middle + half) / scale, 1.0), 1.0)
    return np.where(seen == 0, 0.0, low), np.where(seen == total, 1.0, high)
