"""What was said before each day's attempts, judged; and that nothing later leaks into it."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
import statsmodels.api as sm

from progress.engine.outcomes import CLEAN
from progress.engine.parameters import Parameters
from progress.engine.predictions import Predictions, said_before, said_with, split_day
from progress.engine.report_card import (
    ReportCard,
    clustered_mean,
    compare,
    marks,
    report_card,
)
from tests.engine.small_gyms import landing_and_hanging, log_of, picture_of, surer, tries
from tests.simulated_gyms import Habits, SimulatedGym, simulate

SMALL = Habits(athletes=100, weeks=20, ladders=4, seen_weekly=0.8)


@dataclass(frozen=True)
class Judged:
    """A simulated gym, what was said of its later days, and the card."""

    gym: SimulatedGym
    first_day: int
    said: Predictions
    card: ReportCard


@pytest.fixture(scope="module")
def judged() -> Judged:
    gym = simulate(3, SMALL)
    first = split_day(gym.log)
    said = said_before(gym.catalogue, gym.tiers, gym.log, first)
    return Judged(gym, first, said, report_card(gym.catalogue, gym.tiers, gym.log, said, first))


class TestPredictions:
    def test_all_attempts_from_the_first_day_on_are_predicted(self, judged: Judged) -> None:
        rows = np.flatnonzero(judged.gym.log.day >= judged.first_day)
        assert np.array_equal(judged.said.rows, rows)
        clean = judged.gym.log.result[rows] == CLEAN
        assert np.array_equal(judged.said.clean, clean.astype(int))

    def test_results_of_a_day_do_not_change_what_was_said_of_it_or_before(
        self, judged: Judged
    ) -> None:
        gym, middle = judged.gym, int(np.quantile(judged.said.rows, 0.5))
        day = gym.log.day[middle]
        result = np.where(gym.log.day >= day, 2 - gym.log.result, gym.log.result)
        turned = replace(gym.log, result=result)
        again = said_before(gym.catalogue, gym.tiers, turned, judged.first_day)
        up_to = gym.log.day[judged.said.rows] <= day
        assert np.array_equal(again.chance[up_to], judged.said.chance[up_to])
        assert not np.allclose(again.chance[~up_to], judged.said.chance[~up_to])

    def test_it_is_the_chance_a_coach_saw_that_morning(self) -> None:
        """The picture at the end of the day before, grown a day older by one day's drift."""
        catalogue = landing_and_hanging()
        before = surer(catalogue, drift=1e-9, growth=0.0)
        rows = tries("ada", "HANG-1", "mac", ago=(9, 5, 1)) + tries("ada", "HANG-1", "c", ago=(0,))
        log = log_of(catalogue, ["ada"], rows)
        said = said_with(catalogue, [1], log, before, int(log.day[-1]))
        seen = picture_of(catalogue, ["ada"], rows[:3], parameters=before)
        column = catalogue.position["HANG-1"]
        assert said.chance == pytest.approx([seen.chance[0, column]], abs=1e-6)

    def test_a_stricter_coach_is_expected_to_see_less(self) -> None:
        catalogue = landing_and_hanging()
        rows = tries("ada", "HANG-1", "ccc", ago=(9, 5, 1), coaches=("kim", "kim", "lee"))
        log = log_of(catalogue, ["ada"], rows)
        first = int(log.day[-1])

        def chance(parameters: Parameters) -> float:
            return float(said_with(catalogue, [1], log, parameters, first).chance[0])

        even = surer(catalogue)
        assert chance(replace(even, severity={"lee": 1.0})) < chance(even) - 0.1

    def test_an_empty_log_has_no_day_to_judge_from(self) -> None:
        with pytest.raises(ValueError, match="without attempts"):
            split_day(log_of(landing_and_hanging(), ["ada"], []))


class TestCard:
    def test_the_engine_is_better_than_every_yardstick(self, judged: Judged) -> None:
        assert list(judged.card.against) == ["base_rate", "running_rate", "logistic", "elo"]
        for name, against in judged.card.against.items():
            assert against.gain > 0, name
            assert against.log_loss > judged.card.overall.log_loss, name
        assert judged.card.against["base_rate"].better is True

    def test_it_is_calibrated_as_far_as_luck_lets_anybody_see(self, judged: Judged) -> None:
        found = judged.card.overall.calibration
        assert found is not None
        assert found.error < 2 * found.luck_high
        assert judged.card.overall.said == pytest.approx(judged.card.overall.seen, abs=0.04)

    def test_ladders_and_tiers_hold_all_attempts(self, judged: Judged) -> None:
        card = judged.card
        assert set(card.by_ladder) == set(judged.gym.catalogue.ladders)
        assert sum(one.attempts for one in card.by_ladder.values()) == card.overall.attempts
        assert set(card.by_tier) | set(card.too_few) == set(judged.gym.catalogue.tiers)

    def test_a_day_nobody_was_checked_after_gives_an_empty_card(self, judged: Judged) -> None:
        gym, late = judged.gym, int(judged.gym.log.day.max()) + 1
        said = said_before(gym.catalogue, gym.tiers, gym.log, late)
        card = report_card(gym.catalogue, gym.tiers, gym.log, said, late)
        assert (card.overall.attempts, card.overall.parts, card.against) == (0, None, {})
        assert len(card.too_few) == 8

    def test_marks_add_up(self, judged: Judged) -> None:
        overall = marks(judged.said)
        assert overall.parts is not None
        assert overall.parts.brier == pytest.approx(overall.brier)
        assert sum(point.attempts for point in overall.curve) == overall.attempts


class TestComparing:
    def test_the_interval_is_that_of_statsmodels_with_clusters(self) -> None:
        dice = np.random.default_rng(4)
        cluster = dice.integers(0, 12, 200)
        values = dice.normal(size=12)[cluster] + dice.normal(size=200)
        model = sm.OLS(values, np.ones(200)).fit(
            cov_type="cluster", cov_kwds={"groups": cluster, "df_correction": True}, use_t=True
        )
        mean, low, high = clustered_mean(values, cluster, 0.9)
        assert mean == pytest.approx(model.params[0])
        assert (low, high) == pytest.approx(tuple(model.conf_int(0.1)[0]))

    def test_one_athlete_alone_gives_no_interval(self) -> None:
        assert clustered_mean(np.array([1.0, 2.0]), np.array([5, 5])) == (1.5, None, None)

    def test_open_questions_stay_open(self, judged: Judged) -> None:
        same = compare(judged.said, judged.said)
        assert (same.gain, same.better) == (0.0, None)
        worse = compare(judged.said.by(np.full(len(judged.said), 0.01)), judged.said)
        assert worse.gain < 0
        assert worse.better is False

    def test_other_attempts_are_refused(self, judged: Judged) -> None:
        part = judged.said.only(judged.said.clean == 1)
        with pytest.raises(ValueError, match="same attempts"):
            compare(judged.said, part)
