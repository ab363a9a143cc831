"""The observation model and the one-dimensional update, against scipy's adaptive quadrature."""

from functools import cache
from itertools import product
from math import exp, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from progress.engine.outcomes import (
    CLEAN,
    MISS,
    chance_interval,
    chance_of_clean,
    learn,
    likelihood,
)

# Means and variances a log can lead to: the prior variance of a skill is about 1.7.
MEANS = (-4.0, -2.0, -0.5, 0.0, 1.0, 2.5, 4.0)
VARIANCES = (0.05, 0.3, 1.0, 1.7, 3.0)
RESULTS = (0, 1, 2)
GAPS = (0.5, 1.5, 3.0)


def one(*values: float) -> tuple[np.ndarray, ...]:
    return tuple(np.array([value]) for value in values)


def chance_of(result: int, x: float, gap: float) -> float:
    """The cumulative logit once more, written out plainly."""
    clean, helped = 1 / (1 + exp(-x)), 1 / (1 + exp(-x - gap))
    return (1 - helped, helped - clean, clean)[result]


@cache
def exact(mean: float, variance: float, result: int, gap: float) -> tuple[float, float, float]:
    """Predictive probability, posterior mean and sd by adaptive quadrature."""
    sd = sqrt(variance)

    def density(x: float, power: int = 0, centre: float = 0.0) -> float:
        prior = exp(-0.5 * ((x - mean) / sd) ** 2) / (sd * sqrt(2 * pi))
        return (x - centre) ** power * prior * chance_of(result, x, gap)

    def integral(*args: float) -> float:
        ends = (mean - 9 * sd, mean + 9 * sd)
        return float(quad(density, *ends, args=args, points=[mean], epsabs=1e-11)[0])

    total = integral(0)
    centre = integral(1) / total
    return total, centre, sqrt(integral(2, centre) / total)


class TestLikelihood:
    def test_the_three_results_are_all_there_is(self) -> None:
        x = np.linspace(-30, 30, 121)
        for gap in GAPS:
            each = [likelihood(x, np.full(121, r), np.full(121, gap)) for r in RESULTS]
            assert np.allclose(sum(each), 1.0, atol=1e-12)
            assert min(values.min() for values in each) >= 0.0

    def test_clean_and_at_least_assisted_are_two_logistic_curves_a_help_gap_apart(self) -> None:
        """Cumulative logit: McCullagh 1980, J. R. Stat. Soc. B 42:109-142."""
        x, gap = np.linspace(-6, 6, 49), np.full(49, 1.2)
        clean = likelihood(x, np.full(49, CLEAN), gap)
        miss = likelihood(x, np.full(49, MISS), gap)
        assert np.allclose(clean, 1 / (1 + np.exp(-x)))
        assert np.allclose(1 - miss, 1 / (1 + np.exp(-x - 1.2)))

    def test_far_abilities_neither_overflow_nor_warn(self) -> None:
        with np.errstate(all="raise", under="ignore"):
            sure = likelihood(np.array([-1e4, 1e4]), np.array([MISS, CLEAN]), np.full(2, 1.5))
        assert np.allclose(sure, 1.0)


class TestLearn:
    @pytest.mark.parametrize("result", RESULTS)
    def test_mean_and_sd_are_those_of_the_exact_posterior(self, result: int) -> None:
        """Within 0.005 logits for any belief a log can lead to, and 0.0001 for most.

        The worst cases are the widest beliefs with a narrow help gap.
        """
        away = []
        for mean, variance, gap in product(MEANS, VARIANCES, GAPS):
            total, centre, sd = exact(mean, variance, result, gap)
            log_chance, new_mean, new_variance = learn(*one(mean, variance), *one(result, gap))
            assert log_chance[0] == pytest.approx(np.log(total), abs=1e-3)
            away.append((abs(new_mean[0] - centre), abs(np.sqrt(new_variance[0]) - sd)))
        assert np.max(away) < 5e-3
        assert np.quantile(away, 0.75) < 1e-4

    @pytest.mark.parametrize("result", RESULTS)
    def test_the_update_holds_to_a_thirtieth_of_a_logit_after_a_year_away(
        self, result: int
    ) -> None:
        """A variance of 6 is what a year without a try leaves by default."""
        for mean in MEANS:
            _, centre, sd = exact(mean, 6.0, result, 1.5)
            _, new_mean, new_variance = learn(*one(mean, 6.0), *one(result, 1.5))
            assert new_mean[0] == pytest.approx(centre, abs=0.033)
            assert np.sqrt(new_variance[0]) == pytest.approx(sd, abs=0.033)

    def test_success_raises_and_failure_lowers_the_mean(self) -> None:
        for mean, variance in product(MEANS, VARIANCES):
            rows = [learn(*one(mean, variance), *one(result, 1.5))[1][0] for result in RESULTS]
            assert rows[0] < mean < rows[2]
            assert rows[0] < rows[1] < rows[2]

    def test_every_result_makes_surer(self) -> None:
        for mean, variance, result in product(MEANS, VARIANCES, RESULTS):
            assert 0 < learn(*one(mean, variance), *one(result, 1.5))[2][0] < variance


class TestChance:
    def test_the_chance_is_integrated_over_the_doubt(self) -> None:
        for mean, variance in product(MEANS, VARIANCES):
            total, _, _ = exact(mean, variance, CLEAN, 1.5)
            assert chance_of_clean(*one(mean, variance))[0] == pytest.approx(total, abs=1e-4)

    def test_the_interval_holds_ninety_percent_of_the_belief(self) -> None:
        low, high = chance_interval(*one(0.7, 0.8))
        bounds = norm.ppf([0.05, 0.95], 0.7, np.sqrt(0.8))
        assert np.allclose([low[0], high[0]], 1 / (1 + np.exp(-bounds)), atol=1e-7)
