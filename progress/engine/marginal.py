"""Marginal likelihood of a log, with abilities integrated out exactly on a grid.

Abilities form a tree in each *spell* (one athlete over a few weeks, short enough to treat ability
as still): general ability g, ability a on each ladder tried, ability z at each skill tried. Every
integral is one-dimensional, so it is done on one even grid by passing messages up the tree; passing
them down gives the posterior of every node and so, by Fisher's identity, the exact gradient.
With one spell a person and no ladder or skill spread this is marginal maximum likelihood for the
Rasch model (Bock & Aitkin 1981, Psychometrika 46:443-459); with three results it is the graded
response model with one slope (Samejima 1969).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from progress.engine.outcomes import ASSISTED, CLEAN, MISS, Floats, Ints

# Rows with a smaller spread than this share of the grid's step cannot be told from no spread.
FINEST = 0.6


@dataclass(frozen=True)
class Tree:
    """Which attempt belongs to which cell, ladder and spell. All index arrays are sorted.

    A *cell* is one skill in one spell, a *branch* one ladder in one spell. ``cell_of`` has an
    entry an attempt, ``branch_of`` one a cell, ``spell_of`` one a branch, ``group`` one a spell:
    the population the spell's general ability is drawn from.
    """

    cell_of: Ints
    branch_of: Ints
    spell_of: Ints
    group: Ints
    result: Ints

    @classmethod
    def grow(cls, spell: Ints, ladder: Ints, skill: Ints, result: Ints, group: Ints) -> "Tree":
        """Build the tree from attempts sorted by (spell, ladder, skill); ``group`` per spell."""
        branch_new = _changes(spell, ladder)
        cell_new = branch_new | _changes(spell, skill)
        cell_of, branch_of = np.cumsum(cell_new) - 1, (np.cumsum(branch_new) - 1)[cell_new]
        return cls(cell_of, branch_of, spell[branch_new], group, result)

    @cached_property
    def cell_starts(self) -> Ints:
        """First attempt of each cell."""
        return np.flatnonzero(np.diff(self.cell_of, prepend=-1))

    @cached_property
    def branch_starts(self) -> Ints:
        """First cell of each branch."""
        return np.flatnonzero(np.diff(self.branch_of, prepend=-1))

    @cached_property
    def spell_starts(self) -> Ints:
        """First branch of each spell."""
        return np.flatnonzero(np.diff(self.spell_of, prepend=-1))


@dataclass(frozen=True)
class Slopes:
    """Log-likelihood and its derivatives.

    By attempt: ``hardness`` and ``help_gap``, with ``information`` the expected curvature in
    hardness. By spell: ``level`` (mean of its group). Single numbers: the logs of the three sds.
    """

    log_likelihood: float
    hardness: Floats
    help_gap: Floats
    information: Floats
    level: Floats
    general_sd: float
    ladder_sd: float
    skill_sd: float


def even_grid(low: float, high: float, step: float = 0.25) -> Floats:
    """Grid points from ``low`` to at least ``high``."""
    return np.arange(low, high + step, step)


def slopes(
    tree: Tree,
    grid: Floats,
    hardness: Floats,
    help_gap: Floats,
    level: Floats,
    spreads: tuple[float, float, float],
) -> Slopes:
    """Evaluate the marginal log-likelihood and its gradient.

    ``hardness`` and ``help_gap`` per attempt, ``level`` per group, ``spreads``: sds of general
    ability, ladders and skills; a ladder or skill sd of 0 leaves that level out.
    """
    tries = _Tries.at(grid, tree.result, hardness, help_gap)
    general_sd, ladder_sd, skill_sd = spreads
    skill_step = _Step.of(grid, skill_sd)
    ladder_step = _Step.of(grid, ladder_sd)

    cells = skill_step.up(np.add.reduceat(tries.log_likelihood, tree.cell_starts))
    branches = ladder_step.up(np.add.reduceat(cells.message, tree.branch_starts))
    away = (grid - level[tree.group][:, None]) / general_sd
    joint = np.add.reduceat(branches.message, tree.spell_starts) - 0.5 * away**2
    top = joint.max(axis=1, keepdims=True)
    root = np.exp(joint - top)
    total = root.sum(axis=1, keepdims=True)
    root /= total
    step = grid[1] - grid[0]
    log_likelihood = np.log(total) + top + np.log(step / (general_sd * np.sqrt(2 * np.pi)))

    at_branch, ladder_slope = branches.down(root[tree.spell_of])
    at_cell, skill_slope = cells.down(at_branch[tree.branch_of])
    return Slopes(
        float(log_likelihood.sum()),
        *tries.expected(at_cell[tree.cell_of]),
        (root * away).sum(axis=1) / general_sd,
        float((root * (away**2 - 1)).sum()),
        ladder_slope,
        skill_slope,
    )


@dataclass(frozen=True)
class _Tries:
    """Each attempt along the grid: two logistic curves say everything."""

    result: Ints
    help_gap: Floats
    alone: Floats
    helped: Floats

    @classmethod
    def at(cls, grid: Floats, result: Ints, hardness: Floats, help_gap: Floats) -> "_Tries":
        # One exponential for a row and one for a column instead of one for every cell.
        odds = np.exp(hardness)[:, None] * np.exp(-grid)
        alone = 1.0 / (1.0 + odds)
        odds *= np.exp(-help_gap)[:, None]
        return cls(result, help_gap, alone, 1.0 / (1.0 + odds))

    @property
    def log_likelihood(self) -> Floats:
        """log P(result), shape (attempts, grid), by the product form that never subtracts."""
        value = np.where((self.result == CLEAN)[:, None], self.alone, 1.0 - self.alone)
        value = np.where((self.result == MISS)[:, None], 1.0 - self.helped, value)
        assisted = self.result == ASSISTED
        gap = -np.expm1(-self.help_gap[assisted, None])
        value[assisted] *= self.helped[assisted] * gap
        return np.asarray(np.log(np.maximum(value, 1e-300)))

    def expected(self, posterior: Floats) -> tuple[Floats, Floats, Floats]:
        """Expected slope in hardness, slope in help gap and information, one an attempt."""
        alone = np.einsum("ij,ij->i", posterior, self.alone)
        helped = np.einsum("ij,ij->i", posterior, self.helped)
        clean, miss = self.result == CLEAN, self.result == MISS
        by_hardness = np.where(clean, alone - 1.0, np.where(miss, helped, alone + helped - 1.0))
        kept = np.exp(-self.help_gap)
        with np.errstate(divide="ignore", invalid="ignore"):
            between = np.where(self.help_gap > 0, kept / (1.0 - kept), 0.0) + 1.0 - helped
        by_gap = np.where(clean, 0.0, np.where(miss, -helped, between))
        information = np.einsum("ij,ij->i", posterior, self.alone * (1.0 - self.alone))
        return by_hardness, by_gap, information


@dataclass(frozen=True)
class _Message:
    """What children say of their parent: log message, and what is needed to answer back."""

    message: Floats
    likelihood: Floats
    scaled: Floats
    step: "_Step"

    def down(self, parent: Floats) -> tuple[Floats, float]:
        """Posterior of the children given the parents', and the slope in log sd."""
        if self.step.kernel is None or self.step.curvature is None:
            return parent, 0.0
        weight = parent / self.scaled
        posterior = self.likelihood * (weight @ self.step.kernel)
        slope = float((weight * (self.likelihood @ self.step.curvature)).sum())
        return posterior, slope


@dataclass(frozen=True)
class _Step:
    """A normal step of one sd between parent and child on the grid; None where there is none."""

    kernel: Floats | None
    curvature: Floats | None

    @classmethod
    def of(cls, grid: Floats, sd: float) -> "_Step":
        step = float(grid[1] - grid[0])
        if sd == 0:
            return cls(None, None)
        if sd < FINEST * step:
            raise ValueError(f"sd {sd} is too small for a grid step of {step}")
        away = (grid[:, None] - grid) / sd
        kernel = np.exp(-0.5 * away**2) * (step / (sd * np.sqrt(2 * np.pi)))
        return cls(kernel, kernel * (away**2 - 1))

    def up(self, log_likelihood: Floats) -> _Message:
        if self.kernel is None:
            return _Message(log_likelihood, log_likelihood, log_likelihood, self)
        top = log_likelihood.max(axis=1, keepdims=True)
        likelihood = np.exp(log_likelihood - top)
        scaled = np.maximum(likelihood @ self.kernel, 1e-300)
        return _Message(np.log(scaled) + top, likelihood, scaled, self)


def _changes(*columns: Ints) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Mark rows where any column differs from the row before; the first row counts."""
    changed = np.zeros(len(columns[0]), dtype=bool)
    for column in columns:
        changed |= np.diff(column, prepend=column[:1] - 1) != 0
    return changed
