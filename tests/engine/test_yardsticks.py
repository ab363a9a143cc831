"""The plain ways to predict: what they know, and scikit-learn as reference."""

import numpy as np
import pytest
from sklearn.linear_model import LogisticRegression

from progress.engine.outcomes import CLEAN
from progress.engine.scores import log_loss
from progress.engine.yardsticks import (
    base_rate,
    count,
    elo_with,
    logistic_regression,
    predict_plainly,
)
from tests.engine.small_gyms import Try, landing_and_hanging, log_of
from tests.simulated_gyms import Habits, SimulatedGym, simulate

SMALL = Habits(athletes=60, weeks=16, ladders=4, seen_weekly=0.8)


@pytest.fixture(scope="module")
def gym() -> SimulatedGym:
    return simulate(1, SMALL)


@pytest.mark.parametrize("ridge", [0.1, 1.0, 10.0])
def test_logistic_regression_is_that_of_scikit_learn(ridge: float) -> None:
    dice = np.random.default_rng(2)
    columns = dice.normal(size=(300, 5))
    clean = (dice.random(300) < 1 / (1 + np.exp(-columns @ [2, -1, 0.5, 0, 0] - 1))).astype(int)
    theirs = LogisticRegression(C=1 / ridge, tol=1e-10, max_iter=2000).fit(columns, clean)
    ours = logistic_regression(columns, clean, columns[:50], ridge)
    assert ours == pytest.approx(theirs.predict_proba(columns[:50])[:, 1], abs=1e-6)


def test_results_that_columns_part_cleanly_stay_finite() -> None:
    columns = np.array([[-1.0], [-2.0], [1.0], [2.0]])
    said = logistic_regression(columns, np.array([0, 0, 1, 1]), columns)
    assert np.all((said > 0) & (said < 1))
    assert np.all(np.diff(said[[1, 0, 2, 3]]) > 0)


def test_counts_are_of_earlier_days_only() -> None:
    catalogue = landing_and_hanging()
    rows = [
        Try("ada", "HANG-1", "clean", 3.0),
        Try("ada", "HANG-1", "miss", 2.0),
        Try("ada", "HANG-1", "clean", 1.9),
        Try("ben", "HANG-1", "assisted", 1.95),
        Try("ada", "HANG-2", "clean", 0.0),
    ]
    log = log_of(catalogue, ["ada", "ben"], rows)
    told = count(catalogue, [1, 1], log)
    assert told.at_skill.tolist() == [[0, 0], [1, 0], [1, 0], [0, 0], [0, 0]]
    assert told.on_ladder[3].tolist() == [2, 1]
    assert told.of_everybody.tolist() == [[0, 0], [1, 0], [1, 0], [0, 0], [1, 0]]
    assert base_rate(told)[1] == pytest.approx(2 / 3)


def test_the_rating_moves_by_the_surprise() -> None:
    catalogue = landing_and_hanging()
    rows = [Try("ada", "HANG-1", "clean", 2.0), Try("ada", "HANG-1", "clean", 1.0)]
    said = elo_with(catalogue, [1], log_of(catalogue, ["ada"], rows), 0.4, 0.0)
    assert said == pytest.approx([0.5, 1 / (1 + np.exp(-0.4))])


def test_what_is_judged_teaches_nobody_anything_earlier(gym: SimulatedGym) -> None:
    """With the results of the last days turned round, earlier predictions stay as they were."""
    log, first = gym.log, int(np.quantile(gym.log.day, 0.6))
    later = log.day > first
    turned = type(log)(**{**vars(log), "result": np.where(later, 2 - log.result, log.result)})
    before = predict_plainly(gym.catalogue, gym.tiers, log, first)
    after = predict_plainly(gym.catalogue, gym.tiers, turned, first)
    for name in before:
        assert before[name][~later] == pytest.approx(after[name][~later], abs=1e-12), name


def test_each_beats_a_single_rate_for_everything(gym: SimulatedGym) -> None:
    log, first = gym.log, int(np.quantile(gym.log.day, 0.6))
    judged = log.day >= first
    clean = (log.result == CLEAN).astype(np.int64)
    rate = np.full(int(judged.sum()), clean[~judged].mean())
    plain = log_loss(rate, clean[judged])
    for name, said in predict_plainly(gym.catalogue, gym.tiers, log, first).items():
        assert log_loss(said[judged], clean[judged]) < plain, name


def test_nothing_to_learn_from_is_refused(gym: SimulatedGym) -> None:
    with pytest.raises(ValueError, match="before"):
        predict_plainly(gym.catalogue, gym.tiers, gym.log, int(gym.log.day.min()))
