"""The filter once more with one big covariance matrix: slow, obvious, and without any tree.

Coordinates are general ability, the deviations on ladders and the residuals at skills; an ability
at a skill is the sum of its three.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from progress.engine.outcomes import learn
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue

Floats = NDArray[np.float64]


@dataclass
class DenseFilter:
    """Belief about one athlete: mean and covariance of all coordinates."""

    loadings: Floats  # shape (skills, coordinates)
    level_of: NDArray[np.int64]  # 0 general, 1 ladder, 2 skill, one a coordinate
    mean: Floats
    covariance: Floats

    @classmethod
    def at_start(cls, catalogue: Catalogue, tier: int, parameters: Parameters) -> "DenseFilter":
        """The prior of an athlete in ``tier``."""
        ladders, skills = len(catalogue.ladders), len(catalogue.skills)
        ladder = np.eye(ladders)[list(catalogue.ladder_of)]
        level_of = np.repeat([0, 1, 2], [1, ladders, skills])
        spreads = (parameters.general_sd, parameters.ladder_sd, parameters.skill_sd)
        mean = np.zeros(1 + ladders + skills)
        mean[0] = parameters.level(tier)
        return cls(
            np.hstack([np.ones((skills, 1)), ladder, np.eye(skills)]),
            level_of,
            mean,
            np.diag(np.square(spreads)[level_of]),
        )

    def drift(self, general: float, ladder: float, skill: float, growth: float) -> None:
        """Add these variances at each level and ``growth`` to general ability."""
        self.mean[0] += growth
        self.covariance += np.diag(np.array([general, ladder, skill])[self.level_of])

    def observe(self, skill: int, result: int, hardness: float, help_gap: float) -> None:
        """The rank-one update of everything from one try."""
        along = self.loadings[skill]
        mean, total = along @ self.mean, along @ self.covariance @ along
        _, new_mean, new_total = learn(
            np.array([mean - hardness]), np.array([total]), np.array([result]), np.array([help_gap])
        )
        gain = self.covariance @ along / total
        self.mean = self.mean + gain * (new_mean[0] + hardness - mean)
        self.covariance = self.covariance - np.outer(gain, gain) * (total - new_total[0])

    @property
    def abilities(self) -> tuple[Floats, Floats]:
        """Mean and covariance of the abilities at skills."""
        return self.loadings @ self.mean, self.loadings @ self.covariance @ self.loadings.T
