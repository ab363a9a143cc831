"""Losses and calibration against published figures and scikit-learn."""

import numpy as np
import pytest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss
from sklearn.metrics import log_loss as sklearn_log_loss

from progress.engine.scores import (
    TENTHS,
    brier,
    calibration_error,
    decompose,
    decompose_groups,
    log_loss,
    reliability_curve,
)

# From the documentation of scikit-learn's Brier score.
CLEAN = np.array([0, 1, 1, 0])
SAID = np.array([0.1, 0.9, 0.8, 0.3])


def said_and_clean(seed: int, size: int = 500) -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(seed)
    chance = dice.beta(2, 1, size)
    return chance, (dice.random(size) < chance).astype(np.int64)


class TestLosses:
    def test_the_example_of_scikit_learn(self) -> None:
        assert brier(SAID, CLEAN) == pytest.approx(0.0375, abs=1e-12)
        assert log_loss(SAID, CLEAN) == pytest.approx(0.1976348816, abs=1e-10)

    def test_the_log_loss_example_of_scikit_learn(self) -> None:
        """True results were given 0.9, 0.9, 0.8 and 0.65."""
        chance = np.array([0.1, 0.9, 0.8, 0.35])
        assert log_loss(chance, CLEAN) == pytest.approx(0.21616, abs=1e-5)

    @pytest.mark.parametrize("seed", range(3))
    def test_both_losses_are_those_of_scikit_learn(self, seed: int) -> None:
        chance, clean = said_and_clean(seed)
        assert brier(chance, clean) == pytest.approx(brier_score_loss(clean, chance))
        assert log_loss(chance, clean) == pytest.approx(sklearn_log_loss(clean, chance))

    def test_certain_and_wrong_costs_much_but_not_everything(self) -> None:
        assert log_loss(np.array([1.0]), np.array([0])) == pytest.approx(-np.log(1e-6))

    def test_no_predictions_have_no_loss(self) -> None:
        assert np.isnan([log_loss(np.zeros(0), np.zeros(0)), brier(np.zeros(0), np.zeros(0))]).all()


class TestDecomposition:
    # Table 7.3 of Wilks 1995, Statistical Methods in the Atmospheric Sciences, as in the R
    # package verification (two weights of its help page misprinted: only these sum to 1).
    said = np.array([0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1])
    seen = np.array(
        [0.006, 0.019, 0.059, 0.15, 0.277, 0.377, 0.511, 0.587, 0.723, 0.779, 0.934, 0.933]
    )
    weight = 1e-4 * np.array([4112, 671, 1833, 986, 616, 366, 303, 275, 245, 220, 170, 203])

    def test_the_rain_forecasts_of_wilks(self) -> None:
        """Murphy's three parts, recomputed independently; the source prints no decomposition."""
        found = decompose_groups(self.said, self.seen, self.weight)
        assert found.reliability == pytest.approx(0.0008276164, abs=1e-9)
        assert found.resolution == pytest.approx(0.0627866282, abs=1e-9)
        assert found.uncertainty == pytest.approx(0.1354200518, abs=1e-9)
        assert found.brier == pytest.approx(0.0734610400, abs=1e-9)

    def test_the_sum_is_the_brier_score_of_those_forecasts(self) -> None:
        one_by_one = self.seen * (1 - self.said) ** 2 + (1 - self.seen) * self.said**2
        found = decompose_groups(self.said, self.seen, self.weight)
        assert found.brier == pytest.approx(float(self.weight @ one_by_one))

    @pytest.mark.parametrize("seed", range(3))
    def test_the_parts_sum_to_the_score_for_equal_predictions(self, seed: int) -> None:
        chance, clean = said_and_clean(seed)
        chance = np.round(chance, 1)
        found = decompose(chance, clean)
        assert (found.within, found.explained) == pytest.approx((0, 0), abs=1e-12)
        assert found.brier == pytest.approx(brier(chance, clean), abs=1e-12)

    @pytest.mark.parametrize("seed", range(3))
    def test_in_bins_two_more_terms_keep_the_sum_exact(self, seed: int) -> None:
        chance, clean = said_and_clean(seed)
        found = decompose(chance, clean, TENTHS)
        three = found.reliability - found.resolution + found.uncertainty
        assert found.brier == pytest.approx(brier(chance, clean), abs=1e-12)
        assert abs(three - found.brier) > 1e-5

    def test_no_predictions_cannot_be_taken_apart(self) -> None:
        with pytest.raises(ValueError, match="no predictions"):
            decompose(np.zeros(0), np.zeros(0))


class TestReliabilityCurve:
    def test_its_points_are_those_of_scikit_learn(self) -> None:
        chance, clean = said_and_clean(5)
        seen, said = calibration_curve(clean, chance, n_bins=10)
        curve = reliability_curve(chance, clean)
        assert [point.seen for point in curve] == pytest.approx(seen)
        assert [point.said for point in curve] == pytest.approx(said)
        assert sum(point.attempts for point in curve) == len(chance)

    def test_what_fits_is_inside_its_interval(self) -> None:
        honest = reliability_curve(np.full(50, 0.8), np.repeat([1, 0], [39, 11]))
        boastful = reliability_curve(np.full(50, 0.8), np.repeat([1, 0], [25, 25]))
        assert (honest[0].seen, honest[0].attempts, honest[0].fits) == (0.78, 50, True)
        assert not boastful[0].fits

    def test_the_ends_belong_to_the_outer_bins(self) -> None:
        curve = reliability_curve(np.array([0.0, 0.1, 1.0]), np.array([0, 0, 1]))
        assert [point.from_chance for point in curve] == pytest.approx([0.0, 0.1, 0.9])


class TestCalibrationError:
    def test_by_hand(self) -> None:
        chance = np.array([0.25, 0.25, 0.75, 0.75])
        assert calibration_error(chance, np.array([1, 0, 1, 1])).error == pytest.approx(0.25)

    def test_an_honest_engine_is_within_luck(self) -> None:
        found = [calibration_error(*said_and_clean(seed)) for seed in range(20)]
        assert np.mean([one.error for one in found]) == pytest.approx(
            np.mean([one.by_luck for one in found]), rel=0.15
        )
        assert sum(one.p < 0.05 for one in found) <= 4

    def test_a_boastful_engine_is_beyond_luck(self) -> None:
        chance, clean = said_and_clean(1)
        found = calibration_error(np.minimum(chance + 0.1, 1.0), clean)
        assert found.error > found.luck_high
        assert found.p < 0.01

    def test_more_attempts_leave_less_to_luck(self) -> None:
        few, many = (calibration_error(*said_and_clean(2, size)) for size in (100, 5000))
        assert many.by_luck < few.by_luck / 3

    def test_the_seed_settles_the_luck(self) -> None:
        chance, clean = said_and_clean(3)
        assert calibration_error(chance, clean) == calibration_error(chance, clean)
        assert calibration_error(chance, clean) != calibration_error(chance, clean, seed=2)
