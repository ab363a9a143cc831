"""The posterior that is maximised: its gradient, its priors, and what is free."""

from dataclasses import replace

import numpy as np
import pytest

from progress.engine.calibration import BY_STEP_SD, GAP_SD, LEVEL_SD, SEVERITY_SD, SPREAD_SD
from progress.engine.difficulty import (
    Estimates,
    Problem,
    Spells,
    fit,
    reaching_grid,
    without_priors,
)
from progress.engine.parameters import DIFFICULTY_SD

SKILLS, COACHES, VARIANTS, GROUPS = 5, 3, 2, 2


def spells(seed: int = 2, count: int = 30) -> Spells:
    """Random attempts on two ladders, some by unknown coaches and on no variant."""
    dice = np.random.default_rng(seed)
    rows = 12 * count
    spell = np.repeat(np.arange(count), 12)
    skill = dice.integers(SKILLS, size=rows)
    order = np.lexsort((skill, skill // 3, spell))
    spell, skill = spell[order], skill[order]
    ability = dice.normal(0.5, 1.2, count)[spell] - 0.5 * skill
    x = ability + dice.logistic(size=rows)
    return Spells(
        spell=spell,
        ladder=skill // 3,
        skill=skill,
        coach=dice.integers(-1, COACHES, rows),
        variant=dice.integers(-1, VARIANTS, rows),
        result=np.where(x > 0, 2, np.where(x > -1.4, 1, 0)),
        group=np.arange(count) % GROUPS,
    )


def problem(seed: int = 2) -> Problem:
    start = Estimates(
        difficulty=np.linspace(-0.5, 1.5, SKILLS),
        help_gap=np.full(SKILLS, 1.5),
        severity=np.zeros(COACHES),
        variant=np.array([0.0, 0.8]),
        level=np.array([0.2, 1.0]),
        spreads=np.array([1.0, 0.6, 0.6]),
    )
    sds = [DIFFICULTY_SD, GAP_SD, SEVERITY_SD, BY_STEP_SD, LEVEL_SD, SPREAD_SD]
    prior_sd = np.repeat(sds, [SKILLS, SKILLS, COACHES, VARIANTS, GROUPS, 3])
    free = np.ones(len(prior_sd), dtype=bool)
    return Problem(spells(seed), start, free, prior_sd, reaching_grid(start))


class TestObjective:
    @pytest.mark.parametrize("seed", [1, 2, 3])
    def test_its_gradient_is_right_with_every_level_coach_and_variant_on(self, seed: int) -> None:
        whole = problem(seed)
        dice = np.random.default_rng(seed)
        at = whole.start.flat() + dice.normal(0, 0.2, len(whole.free))
        ours = whole.objective(at)[1]
        for entry, unit in enumerate(np.eye(len(at)) * 1e-5):
            slope = (whole.objective(at + unit)[0] - whole.objective(at - unit)[0]) / 2e-5
            assert ours[entry] == pytest.approx(slope, abs=2e-4), entry

    def test_its_gradient_is_right_where_some_entries_are_fixed(self) -> None:
        whole = problem()
        some = replace(whole, free=np.arange(len(whole.free)) % 3 != 1)
        at = some.free_part(whole.start.flat()) + 0.1
        ours = some.objective(at)[1]
        assert len(ours) == some.free.sum()
        for entry, unit in enumerate(np.eye(len(at)) * 1e-5):
            slope = (some.objective(at + unit)[0] - some.objective(at - unit)[0]) / 2e-5
            assert ours[entry] == pytest.approx(slope, abs=2e-4)

    def test_priors_pull_towards_the_start_by_half_a_square(self) -> None:
        whole = problem()
        at = whole.start.flat() + 0.3
        away = 0.5 * float(np.sum((0.3 / whole.prior_sd) ** 2))
        plain = without_priors(whole)
        assert whole.objective(at)[0] - plain.objective(at)[0] == pytest.approx(away)


class TestFit:
    def test_it_ends_where_the_gradient_is_flat(self) -> None:
        found = fit(problem())
        at = found.problem.free_part(found.estimates.flat())
        assert np.abs(found.problem.objective(at)[1]).max() < 0.05

    def test_what_is_not_free_stays_as_it_was(self) -> None:
        whole = problem()
        fixed = replace(whole, free=np.arange(len(whole.free)) != 2)
        found = fit(fixed)
        assert found.estimates.difficulty[2] == whole.start.difficulty[2]
        assert found.difficulty_sd[2] == 0.0
        assert np.all(found.difficulty_sd[[0, 1, 3, 4]] > 0)

    def test_without_attempts_at_it_a_skill_keeps_its_prior(self) -> None:
        whole = problem()
        more = replace(
            whole.start,
            difficulty=np.append(whole.start.difficulty, 0.7),
            help_gap=np.append(whole.start.help_gap, 1.1),
        )
        at = [SKILLS, 2 * SKILLS]
        prior_sd = np.insert(whole.prior_sd, at, [DIFFICULTY_SD, GAP_SD])
        free = np.ones(len(prior_sd), dtype=bool)
        found = fit(replace(whole, start=more, prior_sd=prior_sd, free=free))
        assert found.estimates.difficulty[-1] == pytest.approx(0.7, abs=1e-6)
        assert found.estimates.help_gap[-1] == pytest.approx(1.1, abs=1e-6)
        assert found.difficulty_sd[-1] == pytest.approx(DIFFICULTY_SD, rel=1e-3)

    def test_errors_are_those_of_the_observed_information_roughly(self) -> None:
        """The quick ones leave severities and spreads aside, so they may be a little small."""
        found = fit(problem())
        slow = np.sqrt(np.diag(found.covariance()))[:SKILLS]
        assert np.all(found.difficulty_sd < 1.25 * slow)
        assert np.all(found.difficulty_sd > 0.6 * slow)


class TestEstimates:
    def test_a_flat_vector_comes_back_as_it_was(self) -> None:
        start = problem().start
        back = start.refilled(start.flat())
        for name in vars(start):
            assert np.allclose(getattr(back, name), getattr(start, name))

    def test_what_is_zero_stays_zero(self) -> None:
        start = replace(problem().start, spreads=np.array([1.0, 0.0, 0.0]))
        assert start.refilled(start.flat() + 0.5).spreads.tolist()[1:] == [0.0, 0.0]
