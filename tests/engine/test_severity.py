"""Coaches' severities against simulated gyms where they are known."""

from dataclasses import replace

import numpy as np
import pytest

from progress.engine.calibration import calibrate
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.severity import Severities, severities, who_should_check_together
from tests.engine.small_gyms import KIM, LEE, Try, landing_and_hanging, log_of, surer
from tests.simulated_gyms import Habits, SimulatedGym, simulate

MIXED = Habits(athletes=80, weeks=16, ladders=4, coaches=5, severity_sd=0.3, seen_weekly=0.8)


@pytest.fixture(scope="module")
def judged() -> list[tuple[SimulatedGym, Severities]]:
    """Four gyms of five coaches each."""
    found = []
    for seed in range(1, 5):
        gym = simulate(seed, MIXED)
        learnt = calibrate(gym.catalogue, gym.tiers, gym.log)
        found.append((gym, severities(gym.catalogue, gym.tiers, gym.log, learnt).centred()))
    return found


def truth(gym: SimulatedGym) -> np.ndarray:
    return np.array([gym.severity[coach] for coach in gym.log.coaches])


class TestSimulatedGyms:
    def test_strict_and_lenient_coaches_are_told_apart(
        self, judged: list[tuple[SimulatedGym, Severities]]
    ) -> None:
        true = np.concatenate([truth(gym) for gym, _ in judged])
        said = np.concatenate([found.value for _, found in judged])
        assert np.corrcoef(true, said)[0, 1] > 0.9

    def test_intervals_hold_the_truth_about_as_often_as_they_say(
        self, judged: list[tuple[SimulatedGym, Severities]]
    ) -> None:
        """At 90%, 20 coaches: fewer than 15 held happens by luck once in ninety times."""
        held = 0
        for gym, found in judged:
            low, high = found.interval
            held += int(((low <= truth(gym)) & (truth(gym) <= high)).sum())
        assert held >= 15

    def test_intervals_are_short_enough_to_tell_something(
        self, judged: list[tuple[SimulatedGym, Severities]]
    ) -> None:
        assert max(found.sd.max() for _, found in judged) < 0.25

    def test_differences_have_their_own_error(
        self, judged: list[tuple[SimulatedGym, Severities]]
    ) -> None:
        gym, found = judged[0]
        gap, sd = found.difference(0, 1)
        assert gap == pytest.approx(found.value[0] - found.value[1])
        assert abs(gap - (truth(gym)[0] - truth(gym)[1])) < 3 * sd


def two_coaches() -> tuple[list[Try], Parameters]:
    """Kim sees clean where Lee sees misses, by turns at the same children."""
    rows = [
        Try(child, "HANG-1", "clean" if coach == KIM else "miss", ago, coach)
        for child in ("ada", "ben", "cem", "dan")
        for ago, coach in ((4.0, KIM), (3.0, LEE), (2.0, KIM), (1.0, LEE))
    ]
    return rows, surer(landing_and_hanging())


def found_of(rows: list[Try], before: Parameters, **prior: float) -> Severities:
    catalogue = landing_and_hanging()
    log = log_of(catalogue, ["ada", "ben", "cem", "dan"], rows)
    return severities(catalogue, [1] * 4, log, before, **prior)


class TestSmallLogs:
    def test_who_sees_misses_where_another_sees_clean_is_stricter(self) -> None:
        found = found_of(*two_coaches())
        assert found.value[found.coaches.index(LEE)] > 0 > found.value[found.coaches.index(KIM)]

    def test_a_tighter_prior_pulls_to_zero(self) -> None:
        rows, before = two_coaches()
        loose, tight = (found_of(rows, before, prior_sd=sd) for sd in (1.0, 0.1))
        assert np.all(np.abs(tight.value) < np.abs(loose.value))
        assert np.all(tight.sd < loose.sd)

    def test_the_answer_hardly_depends_on_where_it_starts(self) -> None:
        rows, before = two_coaches()
        moved = replace(before, severity={KIM: 0.3, LEE: -0.3})
        assert found_of(rows, moved).value == pytest.approx(found_of(rows, before).value, abs=0.02)

    def test_a_coach_without_attempts_is_known_by_the_prior_alone(self) -> None:
        rows, before = two_coaches()
        catalogue = landing_and_hanging()
        log = log_of(
            catalogue, ["ada", "ben", "cem", "dan"], [*rows, Try("ada", "HANG-1", coach="zoe")]
        )
        log = log.rows(log.coach != log.coaches.index("zoe"))
        found = severities(catalogue, [1] * 4, log, before)
        assert (found.value[-1], found.sd[-1]) == pytest.approx((0.0, 0.3), abs=1e-6)
        assert found.attempts.tolist() == [8, 8, 0]

    def test_a_log_without_coaches_has_none(self) -> None:
        before = surer(landing_and_hanging())
        assert len(found_of([Try("ada", "HANG-1", coach="")], before).value) == 0

    def test_against_the_average_coach_severities_sum_to_zero(self) -> None:
        found = found_of(*two_coaches()).centred()
        assert found.value.sum() == pytest.approx(0)
        assert found.difference(0, 0) == (0.0, 0.0)


class TestWhoShouldCheckTogether:
    def coaches(self, value: list[float], sd: list[float]) -> Severities:
        names = tuple("abc"[: len(value)])
        return Severities(names, np.array(value), np.diag(np.square(sd)), np.ones(len(value)))

    def log(self) -> Log:
        rows = [Try("ada", "HANG-1", ago=0.3, coach="a"), Try("ada", "HANG-1", ago=0.2, coach="b")]
        rows.append(Try("ben", "HANG-1", ago=0.2, coach="c"))
        return log_of(landing_and_hanging(), ["ada", "ben"], rows)

    def test_the_most_different_come_first(self) -> None:
        rows = who_should_check_together(self.log(), self.coaches([0, 0.1, 0.8], [0.1] * 3))
        assert [(row.one, row.other) for row in rows] == [("a", "c"), ("b", "c"), ("a", "b")]
        assert [row.double_checks for row in rows] == [0, 0, 1]
        assert [row.athletes for row in rows] == [0, 0, 1]

    def test_a_coach_nobody_can_place_comes_before_those_known_to_be_alike(self) -> None:
        rows = who_should_check_together(self.log(), self.coaches([0, 0, 0], [0.02, 0.02, 0.3]))
        assert {rows[0].other, rows[1].other} == {"c"}
        assert rows[0].p_apart > rows[2].p_apart

    def test_figures_of_a_pair_are_those_of_a_simulation(self) -> None:
        row = who_should_check_together(self.log(), self.coaches([0.4, 0.1, 0], [0.3, 0.2, 0]))
        pair = next(one for one in row if (one.one, one.other) == ("a", "b"))
        drawn = np.random.default_rng(1).normal(0.3, np.hypot(0.3, 0.2), 400_000)
        assert pair.expected_gap == pytest.approx(np.abs(drawn).mean(), abs=3e-3)
        assert pair.p_apart == pytest.approx((np.abs(drawn) > 0.5).mean(), abs=3e-3)
