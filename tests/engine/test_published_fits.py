"""Marginal maximum likelihood against published fits of published data."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import expit, logit

from progress.engine.difficulty import Fit, fit
from progress.engine.outcomes import ASSISTED, CLEAN, MISS, Floats
from tests.engine.published_data import (
    VerbalAggression,
    lsat_6,
    problem_of,
    right_or_wrong,
    verbal_aggression,
)

TIGHT = 1e-8  # of the optimiser, well below the tolerances of the published digits


@pytest.fixture(scope="module")
def slope_of_one() -> Fit:
    return fit(problem_of(right_or_wrong(lsat_6()), graded=False, free_slope=False), TIGHT)


@pytest.fixture(scope="module")
def one_slope() -> Fit:
    return fit(problem_of(right_or_wrong(lsat_6()), graded=False, free_slope=True), TIGHT)


class TestLsat6:
    """Rasch fits of LSAT-6.

    The data are those of Bock & Lieberman 1970. Fits by the R package ltm: Rizopoulos 2006,
    J. Stat. Softw. 17(5):1-25, and the package's own summary.
    """

    def test_log_likelihood_with_a_slope_of_one(self, slope_of_one: Fit) -> None:
        assert slope_of_one.log_likelihood == pytest.approx(-2473.054, abs=1e-3)

    def test_difficulties_with_a_slope_of_one(self, slope_of_one: Fit) -> None:
        """Published digits from memory; recomputed independently to five."""
        b = [-2.87197, -1.06303, -0.25761, -1.38806, -2.21878]
        assert slope_of_one.estimates.difficulty == pytest.approx(b, abs=1e-4)

    def test_log_likelihood_with_a_common_slope(self, one_slope: Fit) -> None:
        assert one_slope.log_likelihood == pytest.approx(-2466.938, abs=1e-3)
        assert -2 * one_slope.log_likelihood + 2 * 6 == pytest.approx(4945.875, abs=2e-3)

    def test_common_slope(self, one_slope: Fit) -> None:
        """A slope of a with ability of spread 1 is a slope of 1 with ability of spread a."""
        assert one_slope.estimates.spreads[0] == pytest.approx(0.7551, abs=5e-4)

    def test_difficulties_with_a_common_slope(self, one_slope: Fit) -> None:
        b = one_slope.estimates.difficulty / one_slope.estimates.spreads[0]
        assert b == pytest.approx([-3.6153, -1.3224, -0.3176, -1.7301, -2.7802], abs=5e-4)

    def test_intercepts_with_a_common_slope(self, one_slope: Fit) -> None:
        """The form the R package mirt prints; its own fit is looser by 1e-3."""
        d = [2.730, 0.999, 0.240, 1.307, 2.100]
        assert -one_slope.estimates.difficulty == pytest.approx(d, abs=1.1e-3)

    def test_standard_errors_with_a_common_slope(self, one_slope: Fit) -> None:
        """From the observed information by the delta method, as ltm prints them."""
        slope = one_slope.estimates.spreads[0]
        covariance = one_slope.covariance()
        to_b = np.hstack([np.eye(5) / slope, -one_slope.estimates.difficulty[:, None] / slope])
        errors = np.sqrt(np.diag(to_b @ covariance @ to_b.T))
        assert errors == pytest.approx([0.3266, 0.1422, 0.0977, 0.1691, 0.2510], abs=1e-3)
        assert slope * np.sqrt(covariance[-1, -1]) == pytest.approx(0.0694, abs=5e-4)

    def test_the_quick_standard_errors_are_near_those_of_the_observed_information(
        self, slope_of_one: Fit
    ) -> None:
        slow = np.sqrt(np.diag(slope_of_one.covariance()))
        assert slope_of_one.difficulty_sd == pytest.approx(slow, rel=0.05)

    def test_likelihood_ratio_of_the_two(self, slope_of_one: Fit, one_slope: Fit) -> None:
        """12.23 on one degree of freedom: published digits from memory, recomputed."""
        ratio = 2 * (one_slope.log_likelihood - slope_of_one.log_likelihood)
        assert ratio == pytest.approx(12.2325, abs=1e-2)


@pytest.fixture(scope="module")
def aggression() -> VerbalAggression:
    return verbal_aggression()


@pytest.fixture(scope="module")
def at_least_perhaps(aggression: VerbalAggression) -> Fit:
    results = np.where(aggression.answers >= 1, CLEAN, MISS)
    return fit(problem_of(results, graded=False, free_slope=True), TIGHT)


@pytest.fixture(scope="module")
def three_results(aggression: VerbalAggression) -> Fit:
    return fit(problem_of(aggression.answers, graded=True, free_slope=True))


class TestVerbalAggressionWithTwoResults:
    """Rasch fit of "no" against the rest; printed in the README of the R package eirm (lme4).

    That fit uses a Laplace approximation; ours is recomputed with 61 nodes: hence 1e-3.
    """

    def test_easiness_of_items(self, aggression: VerbalAggression, at_least_perhaps: Fit) -> None:
        easiness = dict(zip(aggression.items, -at_least_perhaps.estimates.difficulty, strict=True))
        published = {
            "S1WantCurse": 1.2211,
            "S1WantScold": 0.5648,
            "S1WantShout": 0.0801,
            "S2WantCurse": 1.7488,
            "S3DoShout": -2.9750,
            "S4DoShout": -1.9995,
        }
        for item, value in published.items():
            assert easiness[item] == pytest.approx(value, abs=1e-3), item

    def test_standard_errors_of_two_items(
        self, aggression: VerbalAggression, at_least_perhaps: Fit
    ) -> None:
        """To 1.5%: the published ones come from the Laplace approximation too."""
        errors = np.sqrt(np.diag(at_least_perhaps.covariance()))
        for item, value in (("S1WantCurse", 0.161), ("S3DoShout", 0.233)):
            assert errors[aggression.items.index(item)] == pytest.approx(value, rel=0.015)

    def test_log_likelihood_and_spread(self, at_least_perhaps: Fit) -> None:
        """Recomputed independently with 61 Gauss-Hermite nodes; not printed in the source."""
        assert at_least_perhaps.log_likelihood == pytest.approx(-4036.9047, abs=1e-3)
        assert at_least_perhaps.estimates.spreads[0] == pytest.approx(1.3852, abs=1e-3)


class TestVerbalAggressionWithThreeResults:
    def test_log_likelihood_is_that_of_adaptive_quadrature(
        self, aggression: VerbalAggression, three_results: Fit
    ) -> None:
        """Graded responses (Samejima 1969), each person's integral once more by scipy."""
        found = three_results.estimates
        people = aggression.answers[::16]
        by_hand = sum(
            log_marginal(answers, found.difficulty, found.help_gap, float(found.spreads[0]))
            for answers in people
        )
        part = problem_of(people, graded=True, free_slope=True)
        assert part.evaluate(found).log_likelihood == pytest.approx(by_hand, abs=1e-6)

    def test_gradient_is_that_of_adaptive_quadrature(
        self, aggression: VerbalAggression, three_results: Fit
    ) -> None:
        people = aggression.answers[::60]
        part = problem_of(people, graded=True, free_slope=True)
        at = part.free_part(three_results.estimates.flat())
        ours = part.objective(at)[1]
        for entry in (0, 13, 24, 40, 48):
            shift = np.eye(len(at))[entry] * 1e-4
            sides = []
            for moved in (at + shift, at - shift):
                new = part.start.refilled(part.whole(moved))
                spread = float(new.spreads[0])
                sides.append(
                    sum(log_marginal(one, new.difficulty, new.help_gap, spread) for one in people)
                )
            assert ours[entry] == pytest.approx(-(sides[0] - sides[1]) / 2e-4, abs=1e-4)

    def test_the_answer_is_a_maximum(self, three_results: Fit) -> None:
        at = three_results.problem.free_part(three_results.estimates.flat())
        value, slope = three_results.problem.objective(at)
        assert np.abs(slope).max() < 0.1
        dice = np.random.default_rng(1)
        for _ in range(5):
            beside = at + dice.normal(0, 0.05, len(at))
            assert three_results.problem.objective(beside)[0] > value

    def test_both_thresholds_agree_with_fits_of_two_results(
        self, aggression: VerbalAggression, three_results: Fit, at_least_perhaps: Fit
    ) -> None:
        """Cutting the answers above or below "perhaps" must find the same two thresholds."""
        found = three_results.estimates
        lower = found.difficulty - found.help_gap
        assert lower == pytest.approx(at_least_perhaps.estimates.difficulty, abs=0.2)
        only_yes = np.where(aggression.answers == 2, CLEAN, MISS)
        upper = fit(problem_of(only_yes, graded=False, free_slope=True)).estimates.difficulty
        assert np.corrcoef(found.difficulty, upper)[0, 1] > 0.99
        assert found.difficulty == pytest.approx(upper, abs=0.5)

    def test_thresholds_are_ordered_as_the_shares_are(
        self, aggression: VerbalAggression, three_results: Fit
    ) -> None:
        share = (aggression.answers == CLEAN).mean(axis=0)
        order = np.argsort(three_results.estimates.difficulty)
        assert np.all(np.diff(share[order]) <= 0.02)


def log_marginal(answers: np.ndarray, difficulty: Floats, gap: Floats, spread: float) -> float:
    """Log probability of one person's answers by scipy's adaptive quadrature."""

    def density(ability: float) -> float:
        yes = expit(ability - difficulty)
        helped = expit(ability - difficulty + gap)
        each = np.select(
            [answers == CLEAN, answers == ASSISTED, answers == MISS],
            [yes, helped - yes, 1 - helped],
        )
        return float(np.prod(each) * np.exp(-0.5 * (ability / spread) ** 2) / spread)

    scale = np.sqrt(2 * np.pi)
    centre = float(np.clip(logit((answers.mean() + 0.1) / 2.2), -3, 3))
    total = quad(density, -12, 12, points=[centre], epsabs=0, epsrel=1e-9, limit=200)[0]
    return float(np.log(total / scale))
