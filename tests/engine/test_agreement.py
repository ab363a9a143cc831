"""Kappa against published examples and statsmodels; double checks out of a log."""

import numpy as np
import pytest
from statsmodels.stats.inter_rater import cohens_kappa

from progress.engine.agreement import (
    Kappa,
    coaches_of,
    double_checks,
    kappa,
    linear_weights,
    of_equal_coaches,
    plain_weights,
    quadratic_weights,
    table_of,
    table_of_all,
    weights_of_disagreement,
)
from progress.engine.outcomes import Floats
from tests.engine.small_gyms import KIM, LEE, Try, landing_and_hanging, log_of

COHEN = np.array([[88, 14, 18], [10, 40, 10], [2, 6, 12]])
PENALTIES = [[0, 1, 3], [1, 0, 6], [3, 6, 0]]
FLEISS = np.array([[106, 10, 4], [22, 28, 10], [2, 12, 6]])
SAS = np.array([[0, 4, 1], [0, 8, 0], [0, 1, 5]])
BOYD = np.array([[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]])


def of(table: np.ndarray, weights: Floats | None = None, level: float = 0.95) -> Kappa:
    found = kappa(table, weights, level)
    assert found is not None
    return found


class TestPublishedExamples:
    def test_plain_and_weighted_kappa_of_cohen(self) -> None:
        """Cohen 1968, Psychol. Bull. 70:213-220; values, number and weights printed there."""
        assert of(COHEN).value == pytest.approx(0.492, abs=1e-3)
        weighted = of(COHEN, weights_of_disagreement(PENALTIES))
        assert weighted.value == pytest.approx(0.348, abs=1e-3)
        swapped = [[0, 6, 3], [6, 0, 1], [3, 1, 0]]
        assert of(COHEN, weights_of_disagreement(swapped)).value == pytest.approx(0.574, abs=1e-3)

    def test_kappa_and_errors_of_fleiss_cohen_and_everitt(self) -> None:
        """Fleiss, Cohen & Everitt 1969, Psychol. Bull. 72:323-327; digits from memory."""
        plain = of(FLEISS)
        assert plain.value == pytest.approx(0.429, abs=1e-3)
        assert plain.se**2 == pytest.approx(0.002885, abs=1e-6)
        assert plain.se_by_chance**2 == pytest.approx(0.003082, abs=1e-6)
        assert plain.z == pytest.approx(7.720, abs=1e-3)
        weights = np.array([[1, 0, 0.4444], [0, 1, 0.6667], [0.4444, 0.6667, 1]])
        weighted = of(FLEISS, weights)
        assert weighted.value == pytest.approx(0.507, abs=1e-3)
        assert weighted.se**2 == pytest.approx(0.003248, abs=1e-6)
        assert weighted.se_by_chance**2 == pytest.approx(0.004269, abs=1e-6)
        assert weighted.z == pytest.approx(7.761, abs=1e-3)

    def test_the_printout_of_sas(self) -> None:
        """The SAS output that the tests of statsmodels print."""
        plain, linear = of(SAS), of(SAS, linear_weights())
        assert (plain.value, plain.se) == pytest.approx((0.4842, 0.1380), abs=1e-4)
        assert (plain.low, plain.high) == pytest.approx((0.2137, 0.7547), abs=1e-4)
        assert (linear.value, linear.se) == pytest.approx((0.4701, 0.1457), abs=1e-4)
        assert (linear.low, linear.high) == pytest.approx((0.1845, 0.7558), abs=1e-4)

    def test_quadratic_weights_on_the_same_table(self) -> None:
        """Recomputed independently with scikit-learn; not printed in the source."""
        assert of(SAS, quadratic_weights()).value == pytest.approx(0.450161, abs=1e-6)

    def test_mammography_readings_of_boyd(self) -> None:
        """Boyd et al. 1982 as in the Stata manual; digits from memory, recomputed."""
        plain, linear = of(BOYD), of(BOYD, linear_weights(4))
        assert plain.value == pytest.approx(0.4728, abs=1e-4)
        assert plain.se_by_chance == pytest.approx(0.0694, abs=1e-4)
        assert plain.z == pytest.approx(6.81, abs=1e-2)
        assert linear.value == pytest.approx(0.5684, abs=1e-4)
        assert linear.se_by_chance == pytest.approx(0.0788, abs=1e-4)
        assert linear.z == pytest.approx(7.22, abs=1e-2)


@pytest.mark.parametrize("kind", ["plain", "linear", "quadratic", "penalties"])
@pytest.mark.parametrize("seed", range(3))
def test_kappa_is_that_of_statsmodels(kind: str, seed: int) -> None:
    """It takes penalties where weights are given as a matrix, and agreement weights nowhere."""
    table = np.random.default_rng(seed).integers(0, 30, (3, 3))
    penalties = {
        "plain": 1 - plain_weights(),
        "linear": 1 - linear_weights(),
        "quadratic": 1 - quadratic_weights(),
        "penalties": np.array(PENALTIES, dtype=float),
    }[kind]
    theirs = cohens_kappa(table, weights=penalties)
    ours = of(table, weights_of_disagreement(penalties))
    assert ours.value == pytest.approx(theirs.kappa, abs=1e-12)
    assert ours.se == pytest.approx(theirs.std_kappa, abs=1e-12)
    assert ours.se_by_chance == pytest.approx(theirs.std_kappa0, abs=1e-12)
    assert ours.p == pytest.approx(theirs.pvalue_two_sided, abs=1e-12)


class TestEdgesOfKappa:
    def test_nothing_to_agree_about_is_no_kappa(self) -> None:
        assert kappa(np.zeros((3, 3))) is None
        assert kappa(np.diag([0, 0, 9])) is None

    def test_perfect_agreement_is_one_and_its_plain_share_stays_doubtful(self) -> None:
        found = of(np.diag([3, 3, 4]))
        assert (found.value, found.se, found.same, found.pairs) == (1.0, 0.0, 10, 10)
        assert 0.6 < found.same_low < 0.8

    def test_agreement_by_chance_alone_is_zero(self) -> None:
        assert of(np.outer([2, 3, 5], [10, 20, 30])).value == pytest.approx(0, abs=1e-12)

    @pytest.mark.parametrize(
        ("table", "weights"),
        [
            (np.ones((2, 3)), None),
            (-np.eye(3), None),
            (np.eye(3), np.eye(2)),
            (np.eye(3), np.array(PENALTIES)),
        ],
    )
    def test_what_is_no_table_or_no_weights_is_refused(
        self, table: np.ndarray, weights: np.ndarray | None
    ) -> None:
        with pytest.raises(ValueError, match=r"table|weights"):
            kappa(table, weights)

    def test_penalties_must_spare_the_same_result(self) -> None:
        with pytest.raises(ValueError, match="penalties"):
            weights_of_disagreement(np.eye(3))


class TestDoubleChecks:
    def pairs(self, *rows: Try) -> list[tuple[int, int]]:
        log = log_of(landing_and_hanging(), ["ada", "ben"], rows)
        found = double_checks(log)
        return list(zip(found.first.tolist(), found.second.tolist(), strict=True))

    def test_two_coaches_on_one_day_are_a_pair(self) -> None:
        ada = (Try("ada", "LAND-1", ago=0.2, coach=KIM), Try("ada", "LAND-1", ago=0.1, coach=LEE))
        assert self.pairs(*ada) == [(0, 1)]

    def test_another_skill_tried_in_between_does_not_part_them(self) -> None:
        between = Try("ada", "HANG-1", ago=0.15, coach=KIM)
        ada = (Try("ada", "LAND-1", ago=0.2, coach=KIM), Try("ada", "LAND-1", ago=0.1, coach=LEE))
        assert self.pairs(*ada, between) == [(0, 2)]

    @pytest.mark.parametrize(
        "other",
        [
            Try("ada", "LAND-1", ago=1.1, coach=LEE),
            Try("ben", "LAND-1", ago=0.1, coach=LEE),
            Try("ada", "HANG-1", ago=0.1, coach=LEE),
            Try("ada", "LAND-1", ago=0.1, coach=KIM),
            Try("ada", "LAND-1", ago=0.1, coach=""),
        ],
        ids=["another day", "another child", "another skill", "the same coach", "nobody known"],
    )
    def test_what_is_no_pair(self, other: Try) -> None:
        assert self.pairs(Try("ada", "LAND-1", ago=0.2, coach=KIM), other) == []

    def test_no_attempt_is_used_twice(self) -> None:
        coaches = [KIM, LEE, KIM, LEE, LEE, KIM, LEE]
        rows = [
            Try("ada", "LAND-1", ago=0.5 - 0.01 * n, coach=coach) for n, coach in enumerate(coaches)
        ]
        assert self.pairs(*rows) == [(0, 1), (2, 3), (4, 5)]

    def test_an_empty_log_has_none(self) -> None:
        assert self.pairs() == []


def test_tables_have_the_coach_asked_about_in_the_rows() -> None:
    rows = [
        Try("ada", "LAND-1", "clean", 0.3, LEE),
        Try("ada", "LAND-1", "miss", 0.2, KIM),
        Try("ben", "LAND-1", "assisted", 0.3, KIM),
        Try("ben", "LAND-1", "clean", 0.2, "pat"),
    ]
    log = log_of(landing_and_hanging(), ["ada", "ben"], rows)
    pairs = double_checks(log)
    kim, lee, pat = (log.coaches.index(name) for name in (KIM, LEE, "pat"))
    assert coaches_of(log, pairs) == ((kim, lee), (kim, pat))
    against_lee = np.array([[0, 0, 1], [0, 0, 0], [0, 0, 0]])
    with_pat = against_lee + np.array([[0, 0, 0], [0, 0, 1], [0, 0, 0]])
    assert np.array_equal(table_of(log, pairs, kim, lee), against_lee)
    assert np.array_equal(table_of(log, pairs, lee, kim), against_lee.T)
    assert np.array_equal(table_of(log, pairs, kim), with_pat)
    assert np.array_equal(table_of_all(log, pairs), with_pat)


class TestEqualCoaches:
    def test_the_table_sums_to_the_pairs_and_is_symmetric(self) -> None:
        table = of_equal_coaches(np.array([0.0, 1.0]), np.array([0.5, 0.2]), np.array([1.5, 1.0]))
        assert table.sum() == pytest.approx(2)
        assert table == pytest.approx(table.T)

    def test_it_is_what_simulated_children_show(self) -> None:
        dice = np.random.default_rng(3)
        x = 0.5 + np.sqrt(0.8) * dice.normal(size=200_000)
        bars = 1 / (1 + np.exp(-np.stack([x, x + 1.5])))
        seen = np.zeros((3, 3))
        # One roll for both bars, so that clean is also at least assisted.
        rolls = dice.random((2, len(x)))
        first, second = ((roll < bars).sum(axis=0) for roll in rolls)
        np.add.at(seen, (first, second), 1 / len(x))
        ours = of_equal_coaches(np.array([0.5]), np.array([0.8]), np.array([1.5]))
        assert ours == pytest.approx(seen, abs=5e-3)

    def test_coaches_of_one_judgement_stay_far_from_one(self) -> None:
        table = of_equal_coaches(np.zeros(1), np.full(1, 0.5), np.full(1, 1.5))
        assert 0 < of(100 * table).value < 0.4
