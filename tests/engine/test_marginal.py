"""The marginal likelihood with all three levels, against brute force over every ability."""

from itertools import product

import numpy as np
import pytest
from scipy.special import expit

from progress.engine.marginal import Tree, even_grid, slopes
from progress.engine.outcomes import Floats, normal_nodes

# Two spells. In the first, two skills on one ladder and one on another; one skill is tried twice.
SPELL = np.array([0, 0, 0, 0, 1, 1])
LADDER = np.array([0, 0, 0, 1, 0, 1])
SKILL = np.array([0, 0, 1, 2, 1, 2])
RESULT = np.array([2, 1, 0, 2, 1, 0])
GROUP = np.array([0, 1])
HARDNESS = np.array([-0.4, 0.1, 0.8, 0.3, 0.5, -0.2])
GAP = np.array([1.2, 1.2, 0.7, 2.0, 0.7, 2.0])
LEVEL = np.array([0.3, -0.5])
SPREADS = (0.9, 0.6, 0.5)
TREE = Tree.grow(SPELL, LADDER, SKILL, RESULT, GROUP)
GRID = even_grid(-9.0, 9.0, 0.15)


def log_likelihood(
    hardness: Floats = HARDNESS,
    gap: Floats = GAP,
    level: Floats = LEVEL,
    spreads: tuple[float, float, float] = SPREADS,
) -> float:
    return slopes(TREE, GRID, hardness, gap, level, spreads).log_likelihood


def brute_force(spreads: tuple[float, float, float] = SPREADS) -> float:
    """Each spell's integral over general ability, ladders and skills at once."""
    return sum(spell_by_brute_force(spell, spreads) for spell in (0, 1))


def spell_by_brute_force(spell: int, spreads: tuple[float, float, float]) -> float:
    mine = np.flatnonzero(spell == SPELL)
    ladders, skills = sorted(set(LADDER[mine])), sorted(set(SKILL[mine]))
    sds = [spreads[0]] + [spreads[1]] * len(ladders) + [spreads[2]] * len(skills)
    counts = [25] + [15] * len(ladders) + [9] * len(skills)
    rules = [normal_nodes(count) for count in counts]
    nodes = [at * sd for (at, _), sd in zip(rules, sds, strict=True)]
    axes = np.meshgrid(*nodes, indexing="ij", sparse=True)
    general = LEVEL[GROUP[spell]] + axes[0]
    likelihood = np.ones([len(at) for at in nodes])
    for row in mine:
        ability = general + axes[1 + ladders.index(LADDER[row])]
        ability = ability + axes[1 + len(ladders) + skills.index(SKILL[row])]
        clean, helped = expit(ability - HARDNESS[row]), expit(ability - HARDNESS[row] + GAP[row])
        likelihood *= (1 - helped, helped - clean, clean)[RESULT[row]]
    for _, weights in reversed(rules):
        likelihood = likelihood @ weights
    return float(np.log(likelihood))


@pytest.mark.parametrize("spreads", [SPREADS, (1.3, 0.3, 0.9), (0.5, 1.0, 0.25)])
def test_it_is_the_integral_over_all_abilities(spreads: tuple[float, float, float]) -> None:
    """Up to six dimensions by brute force: 25, 15 and 9 nodes at the three levels."""
    assert log_likelihood(spreads=spreads) == pytest.approx(brute_force(spreads), abs=1e-5)


def test_a_spread_of_zero_leaves_its_level_out() -> None:
    nearly_none = log_likelihood(spreads=(0.9, 0.12, 0.12))
    assert log_likelihood(spreads=(0.9, 0.0, 0.0)) == pytest.approx(nearly_none, abs=0.02)
    assert log_likelihood(spreads=(0.9, 0.0, 0.0)) == pytest.approx(
        spell_by_brute_force(0, (0.9, 0.0, 0.0)) + spell_by_brute_force(1, (0.9, 0.0, 0.0)),
        abs=1e-5,
    )


def test_a_spread_too_fine_for_the_grid_is_refused() -> None:
    with pytest.raises(ValueError, match="too small"):
        log_likelihood(spreads=(0.9, 0.05, 0.5))


def test_the_coarse_grid_of_the_calibration_costs_next_to_nothing() -> None:
    """Steps of 0.3. Only at 0.2, the least spread a fit may reach, does the error show."""
    for general, ladder, skill in product((0.5, 1.0), (0.2, 0.25, 0.6), (0.2, 0.25, 0.6)):
        spreads = (general, ladder, skill)
        coarse = slopes(TREE, even_grid(-9, 9, 0.3), HARDNESS, GAP, LEVEL, spreads)
        error = 4e-3 if 0.2 in spreads else 1e-4
        assert coarse.log_likelihood == pytest.approx(log_likelihood(spreads=spreads), abs=error)


class TestSlopes:
    """Each slope against central differences of the likelihood."""

    AT = slopes(TREE, GRID, HARDNESS, GAP, LEVEL, SPREADS)
    STEP = 1e-5

    def test_hardness_and_help_gap_of_each_attempt(self) -> None:
        for row, unit in enumerate(np.eye(6) * self.STEP):
            ahead, behind = log_likelihood(HARDNESS + unit), log_likelihood(HARDNESS - unit)
            assert self.AT.hardness[row] == pytest.approx((ahead - behind) / 2e-5, abs=1e-6)
            ahead, behind = log_likelihood(gap=GAP + unit), log_likelihood(gap=GAP - unit)
            assert self.AT.help_gap[row] == pytest.approx((ahead - behind) / 2e-5, abs=1e-6)

    def test_level_of_each_group(self) -> None:
        for spell, unit in enumerate(np.eye(2) * self.STEP):
            ahead, behind = log_likelihood(level=LEVEL + unit), log_likelihood(level=LEVEL - unit)
            assert self.AT.level[spell] == pytest.approx((ahead - behind) / 2e-5, abs=1e-6)

    def test_log_spread_of_each_level(self) -> None:
        ours = (self.AT.general_sd, self.AT.ladder_sd, self.AT.skill_sd)
        for number, slope in enumerate(ours):
            sides = []
            for sign in (1, -1):
                factors = np.exp(sign * self.STEP * np.eye(3)[number])
                general, ladder, skill = (float(v) for v in np.array(SPREADS) * factors)
                sides.append(log_likelihood(spreads=(general, ladder, skill)))
            assert slope == pytest.approx((sides[0] - sides[1]) / 2e-5, abs=1e-6)
