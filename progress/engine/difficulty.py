"""Difficulties, help gaps, severities and spreads by marginal likelihood.

One vector holds everything that is free; a normal prior stands behind each entry so that a skill
tried twice stays near where its tier puts it. Without priors this is plain marginal maximum
likelihood, which is how it is checked against published fits.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from scipy.optimize import minimize

from progress.engine.log import UNKNOWN
from progress.engine.marginal import Slopes, Tree, even_grid, slopes
from progress.engine.outcomes import Floats, Ints

MOST_STEPS = 60
SPREAD_BOUNDS = (0.2, 3.0)  # below, the grid cannot tell a spread from none


@dataclass(frozen=True)
class Spells:
    """Attempts cut into spells, one entry an attempt and sorted by (spell, ladder, skill).

    ``coach`` and ``variant`` are -1 where unknown. ``group`` has an entry a spell.
    """

    spell: Ints
    ladder: Ints
    skill: Ints
    coach: Ints
    variant: Ints
    result: Ints
    group: Ints

    @cached_property
    def tree(self) -> Tree:
        """How the attempts hang together."""
        return Tree.grow(self.spell, self.ladder, self.skill, self.result, self.group)


@dataclass(frozen=True)
class Estimates:
    """One value each: the point the fit starts from, its priors' means or its answer.

    ``help_gap`` by skill and ``spreads`` (general, ladder, skill) are positive; a spread of 0
    leaves that level out and stays 0.
    """

    difficulty: Floats
    help_gap: Floats
    severity: Floats
    variant: Floats
    level: Floats
    spreads: Floats

    def flat(self) -> Floats:
        """All as one unbounded vector: positive values as logs."""
        spreads = np.where(self.spreads > 0, self.spreads, 1.0)
        gaps = np.where(self.help_gap > 0, self.help_gap, 1.0)
        parts = (self.difficulty, np.log(gaps), self.severity, self.variant, self.level)
        return np.concatenate([*parts, np.log(spreads)])

    def refilled(self, vector: Floats) -> "Estimates":
        """The same shape with the values of ``vector``; zeros stay zero."""
        sizes = [len(self.difficulty), len(self.help_gap), len(self.severity)]
        sizes += [len(self.variant), len(self.level)]
        parts = np.split(vector, np.cumsum(sizes))
        gaps = np.where(self.help_gap > 0, np.exp(parts[1]), 0.0)
        spreads = np.where(self.spreads > 0, np.exp(parts[5]), 0.0)
        return Estimates(parts[0], gaps, parts[2], parts[3], parts[4], spreads)


@dataclass(frozen=True)
class Fit:
    """The answer of ``fit``: estimates, log-likelihood without the priors, and how sure."""

    estimates: Estimates
    log_likelihood: float
    difficulty_sd: Floats
    problem: "Problem" = field(repr=False)

    def covariance(self, step: float = 1e-4) -> Floats:
        """Covariance of the free entries from the observed information, by central differences.

        Exact up to ``step``; costs two likelihoods a free entry, so it is for small fits.
        """
        at = self.problem.free_part(self.estimates.flat())
        size = len(at)
        hessian = np.empty((size, size))
        for column in range(size):
            shift = np.zeros(size)
            shift[column] = step
            ahead = self.problem.objective(at + shift)[1]
            behind = self.problem.objective(at - shift)[1]
            hessian[column] = (ahead - behind) / (2 * step)
        return np.asarray(np.linalg.inv((hessian + hessian.T) / 2))


@dataclass(frozen=True)
class Problem:
    """What is fitted to what: attempts, start, which entries are free, and the priors.

    ``prior_sd`` has an entry for each of ``start.flat()``; infinity means no prior.
    """

    spells: Spells
    start: Estimates
    free: "np.ndarray[tuple[int], np.dtype[np.bool_]]"
    prior_sd: Floats
    grid: Floats

    def free_part(self, vector: Floats) -> Floats:
        """The free entries of a whole vector."""
        return vector[self.free]

    def whole(self, part: Floats) -> Floats:
        """A whole vector with its free entries replaced."""
        vector = self.start.flat()
        vector[self.free] = part
        return vector

    def evaluate(self, estimates: Estimates) -> Slopes:
        """Log-likelihood and slopes at ``estimates``."""
        spells = self.spells
        hardness = (
            estimates.difficulty[spells.skill]
            + np.append(estimates.severity, 0.0)[spells.coach]
            + np.append(estimates.variant, 0.0)[spells.variant]
        )
        general, ladder, skill = (float(spread) for spread in estimates.spreads)
        gaps = estimates.help_gap[spells.skill]
        return slopes(
            spells.tree, self.grid, hardness, gaps, estimates.level, (general, ladder, skill)
        )

    def objective(self, part: Floats) -> tuple[float, Floats]:
        """Minus the log posterior and its gradient in the free entries."""
        vector = self.whole(part)
        estimates = self.start.refilled(vector)
        at = self.evaluate(estimates)
        away = (vector - self.start.flat()) / self.prior_sd
        penalty = 0.5 * float(away @ away)
        gradient = self._gradient(at, estimates) - away / self.prior_sd
        return penalty - at.log_likelihood, -gradient[self.free]

    def _gradient(self, at: Slopes, estimates: Estimates) -> Floats:
        spells, shape = self.spells, estimates
        gaps = _sums(spells.skill, at.help_gap, len(shape.help_gap)) * shape.help_gap
        return np.concatenate(
            [
                _sums(spells.skill, at.hardness, len(shape.difficulty)),
                gaps,
                _sums(spells.coach, at.hardness, len(shape.severity)),
                _sums(spells.variant, at.hardness, len(shape.variant)),
                _sums(spells.group, at.level, len(shape.level)),
                np.array([at.general_sd, at.ladder_sd, at.skill_sd]),
            ]
        )

    def difficulty_sd(self, at: Slopes) -> Floats:
        """Standard errors of the difficulties from the spread of the spells' own slopes.

        The outer product of scores (Berndt, Hall, Hall & Hausman 1974) costs one likelihood.
        Severities, variants and spreads are taken as known; what is not free has an error of 0.
        """
        spells, skills = self.spells, len(self.start.difficulty)
        groups = len(self.start.level)
        scores = np.zeros((len(spells.group), skills + groups))
        np.add.at(scores, (spells.spell, spells.skill), at.hardness)
        scores[np.arange(len(spells.group)), skills + spells.group] = at.level
        places = np.r_[np.arange(skills), len(self.free) - 3 - groups + np.arange(groups)]
        free, prior = self.free[places], self.prior_sd[places]
        scores, prior = scores[:, free], prior[free]
        information = scores.T @ scores + np.diag(prior**-2.0) + 1e-9 * np.eye(free.sum())
        sd = np.zeros(len(places))
        sd[free] = np.sqrt(np.diag(np.linalg.inv(information)))
        return sd[:skills]


def fit(problem: Problem, tolerance: float = 1e-6) -> Fit:
    """Find the estimates of highest posterior density (highest likelihood without priors)."""
    start = problem.free_part(problem.start.flat())
    bounds = problem.free_part(_upper(problem.start))
    scale = 1.0 / np.sqrt(_curvature(problem))
    scaled = _scaled(problem.objective, scale)
    lower = problem.free_part(_lower(problem.start))
    found = minimize(
        scaled,
        start / scale,
        jac=True,
        method="L-BFGS-B",
        bounds=np.stack([lower / scale, bounds / scale], axis=1),
        options={"maxiter": MOST_STEPS, "gtol": tolerance, "ftol": tolerance * 1e-2},
    )
    estimates = problem.start.refilled(problem.whole(found.x * scale))
    at = problem.evaluate(estimates)
    return Fit(estimates, at.log_likelihood, problem.difficulty_sd(at), problem)


def without_priors(problem: Problem) -> Problem:
    """The same problem as plain maximum likelihood."""
    return replace(problem, prior_sd=np.full(len(problem.prior_sd), np.inf))


def reaching_grid(start: Estimates, step: float = 0.25, reach: float = 5.0) -> Floats:
    """A grid that reaches ``reach`` general spreads beyond every level."""
    spread = float(np.sqrt((start.spreads**2).sum()))
    return even_grid(
        float(start.level.min()) - reach * spread, float(start.level.max()) + reach * spread, step
    )


def _sums(index: Ints, values: Floats, size: int) -> Floats:
    known = index != UNKNOWN
    sums = np.bincount(index[known], weights=values[known], minlength=size)[:size]
    return sums.astype(np.float64)


def _curvature(problem: Problem) -> Floats:
    """A rough second derivative for each free entry, so that one step length suits all."""
    spells, start = problem.spells, problem.start
    by_try = 0.12 * np.ones(len(spells.skill))
    counts = [
        _sums(spells.skill, by_try, len(start.difficulty)),
        _sums(spells.skill, by_try, len(start.help_gap)),
        _sums(spells.coach, by_try, len(start.severity)),
        _sums(spells.variant, by_try, len(start.variant)),
        _sums(spells.group, np.ones(len(spells.group)), len(start.level)),
        np.full(3, 0.5 * len(spells.group)),
    ]
    return problem.free_part(np.concatenate(counts) + problem.prior_sd**-2.0 + 1e-3)


def _lower(start: Estimates) -> Floats:
    return _bounds(start, -np.inf, np.log(SPREAD_BOUNDS[0]))


def _upper(start: Estimates) -> Floats:
    return _bounds(start, np.inf, np.log(SPREAD_BOUNDS[1]))


def _bounds(start: Estimates, open_end: float, spread: float) -> Floats:
    bounds = np.full(len(start.flat()), open_end)
    bounds[-3:] = spread
    return bounds


def _scaled(
    objective: Callable[[Floats], tuple[float, Floats]], scale: Floats
) -> Callable[[Floats], tuple[float, Floats]]:
    def scaled(vector: Floats) -> tuple[float, Floats]:
        value, gradient = objective(vector * scale)
        return value, gradient * scale

    return scaled
