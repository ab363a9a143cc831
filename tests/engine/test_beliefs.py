"""The tree of beliefs: its Gaussian algebra against a dense filter and published examples."""

from math import exp, log, pi, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from statsmodels.datasets import nile

from progress.engine.beliefs import Beliefs
from progress.engine.outcomes import CLEAN, MISS, Floats, Ints, chance_of_clean
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue, Skill
from tests.engine.dense_filter import DenseFilter
from tests.simulated_gyms import ladder_catalogue

CATALOGUE = ladder_catalogue(ladders=3, tiers=3)
PARAMETERS = Parameters.before_any_log(CATALOGUE)
ONE = np.ones(1)


def both() -> tuple[Beliefs, DenseFilter]:
    return (
        Beliefs.at_start(CATALOGUE, [1], PARAMETERS),
        DenseFilter.at_start(CATALOGUE, 1, PARAMETERS),
    )


def observe_both(tree: Beliefs, dense: DenseFilter, skill: int, result: int) -> None:
    hard, gap = PARAMETERS.difficulty[skill], PARAMETERS.help_gap[skill]
    tree.observe(np.array([skill]), np.array([result]), np.array([hard]), np.array([gap]))
    dense.observe(skill, result, hard, gap)


def drift_both(tree: Beliefs, dense: DenseFilter, days: float) -> None:
    moved = (0.003 * days, 0.0015 * days, 0.0015 * days, 0.005 * days)
    tree.drift(*(ONE * value for value in moved))
    dense.drift(*moved)


class TestAgainstADenseFilter:
    def test_without_drift_the_tree_is_the_dense_filter(self) -> None:
        tree, dense = both()
        dice = np.random.default_rng(3)
        for _ in range(200):
            observe_both(tree, dense, int(dice.integers(9)), int(dice.integers(3)))
        mean, covariance = dense.abilities
        assert np.allclose(tree.abilities()[0][0], mean, atol=1e-9)
        assert np.allclose(tree.abilities()[1][0], np.diag(covariance), atol=1e-9)
        assert np.allclose(tree.covariance(0), covariance, atol=1e-9)

    def test_drift_keeps_every_mean_variance_and_parent_child_covariance(self) -> None:
        """What Chow & Liu 1968 (IEEE Trans. Inf. Theory 14:462-467) promise of the closest tree."""
        tree, dense = both()
        dice = np.random.default_rng(5)
        for _ in range(40):
            observe_both(tree, dense, int(dice.integers(9)), int(dice.integers(3)))
        drift_both(tree, dense, days=60)
        mean, covariance = dense.abilities
        assert np.allclose(tree.abilities()[0][0], mean, atol=1e-9)
        assert np.allclose(tree.abilities()[1][0], np.diag(covariance), atol=1e-9)
        assert tree.root_mean[0] == pytest.approx(dense.mean[0], abs=1e-9)
        assert tree.root_var[0] == pytest.approx(dense.covariance[0, 0], abs=1e-9)
        ladder = dense.covariance[0, 0] + dense.covariance[0, 1:4]
        assert np.allclose((1 - tree.ladder_lag[0]) * tree.root_var[0], ladder, atol=1e-9)
        self.check_skills_hang_on_their_ladders(tree, dense)

    @staticmethod
    def check_skills_hang_on_their_ladders(tree: Beliefs, dense: DenseFilter) -> None:
        up = 1 - tree.ladder_lag[0]
        ladder_var = tree.ladder_var[0] + up**2 * tree.root_var[0]
        for skill, ladder in enumerate(CATALOGUE.ladder_of):
            on_ladder = np.eye(len(dense.mean))[0] + np.eye(len(dense.mean))[1 + ladder]
            shared = dense.loadings[skill] @ dense.covariance @ on_ladder
            ours = (1 - tree.given_ladder().lag[0, skill]) * ladder_var[ladder]
            assert ours == pytest.approx(shared, abs=1e-9)

    @pytest.mark.parametrize("days", [1, 7, 30])
    def test_with_drift_the_tree_stays_close_to_the_dense_filter(self, days: float) -> None:
        """Over 200 tries with drift between any two no chance is off by more than 0.06.

        Root mean squares: below 0.01 in the chance and 0.08 posterior sds in the ability.
        """
        tree, dense = both()
        dice = np.random.default_rng(7)
        in_chance, in_sds = [], []
        for _ in range(200):
            drift_both(tree, dense, days)
            skill = int(dice.integers(9))
            x = dense.abilities[0][skill] - PARAMETERS.difficulty[skill] + dice.logistic()
            observe_both(tree, dense, skill, 2 if x > 0 else 1 if x > -1.5 else 0)
            mean, covariance = dense.abilities
            sd, (ours, our_variance) = np.sqrt(np.diag(covariance)), tree.abilities()
            exact = chance_of_clean(mean - PARAMETERS.difficulty, sd**2)
            chance = chance_of_clean(ours[0] - PARAMETERS.difficulty, our_variance[0])
            in_chance.append(chance - exact)
            in_sds.append((ours[0] - mean) / sd)
        print(f"{days} days: chance {np.abs(in_chance).max():.3f}, sds {np.abs(in_sds).max():.2f}")
        assert np.abs(in_chance).max() < 0.06
        assert np.sqrt(np.mean(np.square(in_chance))) < 0.01
        assert np.sqrt(np.mean(np.square(in_sds))) < 0.08

    def test_variances_stay_positive_through_a_thousand_tries_and_long_gaps(self) -> None:
        tree, dense = both()
        dice = np.random.default_rng(11)
        for number in range(1000):
            drift_both(tree, dense, days=float(dice.choice([0, 0, 7, 90])))
            observe_both(tree, dense, int(dice.integers(9)), 2 if number % 7 else 0)
        assert min(tree.root_var.min(), tree.ladder_var.min(), tree.given_ladder().var.min()) > 0
        assert np.all(np.linalg.eigvalsh(tree.covariance(0)) > 0)


NOISE, WANDERING = 15099.0, 1469.1


def gaussian_learn(
    mean: Floats, variance: Floats, result: Ints, help_gap: Floats
) -> tuple[Floats, Floats, Floats]:
    """Instead of a try: see the ability with normal noise; hardness is the value seen."""
    total = variance + NOISE
    log_density = -0.5 * (np.log(2 * np.pi * total) + mean**2 / total)
    return log_density, mean * NOISE / total, variance * NOISE / total


class TestNile:
    """Flow of the Nile 1871-1970 as a local level.

    Durbin & Koopman 2012, Time Series Analysis by State Space Methods, ch. 2; the log-likelihood
    is that of the R package KFAS for a first variance of 1e7.
    """

    @pytest.fixture
    def steps(self, monkeypatch: pytest.MonkeyPatch) -> list[tuple[float, float, float, float]]:
        """For each year: predicted level and variance, log density, level after."""
        monkeypatch.setattr("progress.engine.beliefs.learn", gaussian_learn)
        catalogue = Catalogue((Skill("NILE", "river", 1),))
        tree = Beliefs.at_start(catalogue, [1], Parameters.before_any_log(catalogue))
        tree.root_mean[:], tree.root_var[:] = 0.0, 1e7
        tree.ladder_var[:] = tree.skill_var[:] = 0.0
        none, found = np.zeros(1), []
        for flow in nile.load_pandas().data["volume"]:
            before = float(tree.root_mean[0]), float(tree.root_var[0])
            seen = tree.observe(np.array([0]), np.array([0]), np.array([flow]), ONE)
            found.append((*before, float(seen[0]), float(tree.abilities()[0][0, 0])))
            tree.drift(ONE * WANDERING, none, none, none)
        return found

    def test_the_log_likelihood_is_the_published_one(
        self, steps: list[tuple[float, float, float, float]]
    ) -> None:
        assert sum(step[2] for step in steps) == pytest.approx(-641.5856, abs=1e-3)

    def test_the_last_level_is_the_published_one(
        self, steps: list[tuple[float, float, float, float]]
    ) -> None:
        assert steps[-1][3] == pytest.approx(798.4, abs=0.05)
        assert steps[-1][3] == pytest.approx(798.3703, abs=1e-4)  # recomputed independently

    def test_the_first_steps_and_the_steady_state_are_the_closed_form(
        self, steps: list[tuple[float, float, float, float]]
    ) -> None:
        second = 1e7 * NOISE / (1e7 + NOISE) + WANDERING
        third = second * NOISE / (second + NOISE) + WANDERING
        assert [step[1] for step in steps[1:3]] == pytest.approx([second, third], abs=1e-6)
        assert [step[0] for step in steps[1:3]] == pytest.approx([1118.31146, 1140.10844], abs=1e-4)
        q = WANDERING / NOISE
        steady = NOISE * (q + sqrt(q * q + 4 * q)) / 2
        assert steps[-1][1] == pytest.approx(steady, abs=1e-4)
        assert steady == pytest.approx(5501.25794, abs=1e-4)


Q = log(10) / 400  # rating points to logits
OPPONENTS = ((1400.0, 30.0, True), (1550.0, 100.0, False), (1700.0, 300.0, False))


def exact_rating(
    games: tuple[tuple[float, float, bool], ...] = OPPONENTS, start: float = 1500, sd: float = 200
) -> tuple[float, float]:
    """Mean and sd of the rating after these games, opponents' doubt integrated out."""
    nodes, weights = np.polynomial.hermite_e.hermegauss(61)

    def density(rating: float) -> float:
        value = exp(-0.5 * ((rating - start) / sd) ** 2) / sqrt(2 * pi)
        for opponent, doubt, won in games:
            win = 1 / (1 + np.exp(-Q * (rating - opponent - doubt * nodes)))
            value *= float((win if won else 1 - win) @ weights / weights.sum())
        return value

    ends = (start - 8 * sd, start + 8 * sd)
    total = quad(density, *ends)[0]
    mean = quad(lambda r: r * density(r), *ends)[0] / total
    variance = quad(lambda r: (r - mean) ** 2 * density(r), *ends)[0] / total
    return mean, sqrt(variance)


class TestGlicko:
    """The worked example of Glickman, "The Glicko system": 1500 (200) against three opponents.

    A skill stands for an opponent: its difficulty is the opponent's rating, its residual the
    opponent's doubt. So the engine integrates that doubt out, where Glicko shrinks the curve.
    """

    @pytest.fixture
    def rating(self) -> tuple[float, float]:
        """Mean and sd of the rating after the three games, in rating points."""
        catalogue = Catalogue(tuple(Skill(f"S{n}", f"L{n}", 1) for n in range(3)))
        tree = Beliefs.at_start(catalogue, [1], Parameters.before_any_log(catalogue))
        tree.root_mean[:], tree.root_var[:] = 1500 * Q, (200 * Q) ** 2
        tree.ladder_var[:] = 0.0
        tree.skill_var[0] = [(doubt * Q) ** 2 for _, doubt, _ in OPPONENTS]
        for number, (opponent, _, won) in enumerate(OPPONENTS):
            result = np.array([CLEAN if won else MISS])
            tree.observe(np.array([number]), result, np.array([opponent * Q]), np.array([1e-9]))
        return float(tree.root_mean[0]) / Q, float(np.sqrt(tree.root_var[0])) / Q

    def test_each_game_leaves_the_mean_and_sd_of_its_exact_posterior(
        self, rating: tuple[float, float]
    ) -> None:
        """The algorithm as stated: after each game a normal with the posterior's moments."""
        by_hand: tuple[float, float] = (1500.0, 200.0)
        for game in OPPONENTS:
            by_hand = exact_rating((game,), *by_hand)
        assert rating == pytest.approx(by_hand, abs=0.05)

    def test_three_games_end_near_the_exact_posterior_of_all_three(
        self, rating: tuple[float, float]
    ) -> None:
        """Off by less than a point in the mean; the deviation is 1.2% wide, never narrow."""
        exact = exact_rating()
        assert exact == pytest.approx((1463.54, 156.93), abs=0.01)  # recomputed independently
        assert rating[0] == pytest.approx(exact[0], abs=1.0)
        assert exact[1] < rating[1] < 1.015 * exact[1]

    def test_three_games_end_near_the_published_rating(self, rating: tuple[float, float]) -> None:
        """Published: 1464 and 151.4, whose deviation is 3.5% below the exact one."""
        assert rating[0] == pytest.approx(1464, abs=1.5)
        assert rating[1] == pytest.approx(151.4, rel=0.05)
