"""Time to tier against the remission data and statsmodels."""

import numpy as np
import pytest
from statsmodels.duration.survfunc import SurvfuncRight, survdiff

from progress.engine.survival import by_group, log_rank, time_to_tier

# Weeks of remission on 6-MP and on placebo: Freireich et al. 1963, Blood 21:699-716.
EVENTS_ON_DRUG = [6, 6, 6, 7, 10, 13, 16, 22, 23]
CENSORED_ON_DRUG = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
DRUG_TIMES = np.array(EVENTS_ON_DRUG + CENSORED_ON_DRUG, dtype=float)
DRUG_EVENTS = np.arange(21) < 9
PLACEBO_TIMES = np.array(PLACEBO, dtype=float)
PLACEBO_EVENTS = np.ones(len(PLACEBO), dtype=bool)
BOTH = np.concatenate([DRUG_TIMES, PLACEBO_TIMES])
BOTH_EVENTS = np.concatenate([DRUG_EVENTS, PLACEBO_EVENTS])
ARM = np.repeat([0, 1], 21)


class TestRemissionData:
    def test_curve_of_the_drug(self) -> None:
        """Cox & Oakes 1984, Analysis of Survival Data, p. 49."""
        curve = time_to_tier(DRUG_TIMES, DRUG_EVENTS)
        assert curve.times.tolist() == [6, 7, 10, 13, 16, 22, 23]
        assert curve.at_risk.tolist() == [21, 17, 15, 12, 11, 7, 6]
        published = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]
        assert curve.still == pytest.approx(published, abs=5e-5)
        assert curve.gone == pytest.approx([1 - share for share in published], abs=5e-5)
        assert (curve.athletes, curve.moved) == (21, 9)

    def test_standard_errors_of_the_drug(self) -> None:
        """Greenwood's; Klein & Moeschberger 2003, Survival Analysis, p. 93."""
        published = [0.076, 0.087, 0.096, 0.107, 0.114, 0.128, 0.135]
        assert time_to_tier(DRUG_TIMES, DRUG_EVENTS).se == pytest.approx(published, abs=5e-4)

    def test_median_of_the_drug(self) -> None:
        assert time_to_tier(DRUG_TIMES, DRUG_EVENTS).median == 23

    def test_intervals_of_the_drug(self) -> None:
        """By the log of minus the log, as Stata prints them; digits from memory."""
        curve = time_to_tier(DRUG_TIMES, DRUG_EVENTS, level=0.95)
        low = [0.6197, 0.5631, 0.5032, 0.4316, 0.3675, 0.2678, 0.1881]
        high = [0.9516, 0.9228, 0.8894, 0.8491, 0.8049, 0.7468, 0.6801]
        assert curve.low == pytest.approx(low, abs=5e-5)
        assert curve.high == pytest.approx(high, abs=5e-5)
        assert curve.median_interval == (13, None)

    def test_curve_of_the_placebo(self) -> None:
        curve = time_to_tier(PLACEBO_TIMES, PLACEBO_EVENTS)
        assert curve.times.tolist() == [1, 2, 3, 4, 5, 8, 11, 12, 15, 17, 22, 23]
        left = np.array([19, 17, 16, 14, 12, 8, 6, 4, 3, 2, 1, 0])
        assert curve.still == pytest.approx(left / 21)
        assert curve.median == 8
        assert np.isnan([curve.se[-1], curve.low[-1], curve.high[-1]]).all()

    def test_the_arms_differ(self) -> None:
        """Log-rank chi-square 16.79 (digits from memory, recomputed)."""
        found = log_rank(ARM, BOTH, BOTH_EVENTS)
        assert found is not None
        assert (found.chi_square, found.freedom) == (pytest.approx(16.7929, abs=1e-4), 1)


def random_times(seed: int, size: int = 60) -> tuple[np.ndarray, np.ndarray]:
    """Times full of ties, about a third of them censored."""
    dice = np.random.default_rng(seed)
    return dice.integers(1, 15, size).astype(float), dice.random(size) < 0.65


@pytest.mark.parametrize("seed", range(4))
def test_the_curve_is_that_of_statsmodels(seed: int) -> None:
    times, moved = random_times(seed)
    ours, theirs = time_to_tier(times, moved), SurvfuncRight(times, moved.astype(int))
    assert ours.times.tolist() == theirs.surv_times.tolist()
    assert ours.at_risk.tolist() == theirs.n_risk.tolist()
    assert ours.still == pytest.approx(theirs.surv_prob)
    some = ours.still > 0
    assert ours.se[some] == pytest.approx(theirs.surv_prob_se[some])
    assert ours.median == theirs.quantile(0.5)


@pytest.mark.parametrize("seed", range(4))
def test_late_entries_are_counted_as_statsmodels_does(seed: int) -> None:
    times, moved = random_times(seed)
    entered = np.where(np.arange(len(times)) % 3 == 0, np.floor(times / 2), 0.0)
    entered[np.argsort(times)[:20]] = 0.0
    ours = time_to_tier(times, moved, entered)
    theirs = SurvfuncRight(times, moved.astype(int), entry=entered)
    assert ours.at_risk.tolist() == theirs.n_risk.tolist()
    assert ours.still == pytest.approx(theirs.surv_prob)


@pytest.mark.parametrize("seed", range(4))
def test_the_comparison_is_that_of_statsmodels(seed: int) -> None:
    times, moved = random_times(seed)
    groups = np.random.default_rng(seed + 9).integers(0, 3, len(times))
    ours = log_rank(groups, times, moved)
    theirs = survdiff(times, moved.astype(int), groups)
    assert ours is not None
    assert (ours.chi_square, ours.p) == pytest.approx((float(theirs[0]), float(theirs[1])))


class TestEdges:
    def test_nobody_there_has_no_steps_and_no_median(self) -> None:
        curve = time_to_tier(np.zeros(0), np.zeros(0, dtype=bool))
        assert (curve.athletes, len(curve.times), curve.median) == (0, 0, None)
        assert curve.still_at(10) == 1.0

    def test_nobody_moved_up_yet_leaves_the_curve_at_the_top(self) -> None:
        curve = time_to_tier(np.array([3.0, 9.0]), np.array([False, False]))
        assert (curve.still_at(99), curve.median, curve.moved) == (1.0, None, 0)

    def test_who_leaves_at_a_time_was_there_for_it(self) -> None:
        curve = time_to_tier(np.array([5.0, 5.0]), np.array([True, False]))
        assert (curve.at_risk.tolist(), curve.still.tolist()) == ([2], [0.5])
        assert curve.median == 5

    def test_groups_come_in_their_places_even_where_empty(self) -> None:
        curves = by_group(2 * ARM, 3, BOTH, BOTH_EVENTS)
        assert [curve.athletes for curve in curves] == [21, 0, 21]
        assert [curve.median for curve in curves] == [23, None, 8]

    def test_one_group_is_compared_with_nobody(self) -> None:
        assert log_rank(np.zeros(21), DRUG_TIMES, DRUG_EVENTS) is None

    @pytest.mark.parametrize(
        ("times", "entered"), [([-1.0], None), ([np.nan], None), ([3.0], [3.0]), ([3.0], [0.0, 0])]
    )
    def test_impossible_times_are_refused(
        self, times: list[float], entered: list[float] | None
    ) -> None:
        late = None if entered is None else np.array(entered)
        with pytest.raises(ValueError, match="time"):
            time_to_tier(np.array(times), np.array([True]), late)

    def test_a_share_of_all_or_none_is_refused(self) -> None:
        with pytest.raises(ValueError, match="share"):
            time_to_tier(DRUG_TIMES, DRUG_EVENTS).quantile(1.0)
