"""Who stands still is found where the evidence can tell, and growers are seldom accused."""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr

from progress.engine.gains import Gains, gains
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.plateaus import Asking, Standstill, power_to_find, standstills
from tests.engine.small_gyms import KIM, TODAY, Try, landing_and_hanging, log_of, surer, tries
from tests.engine.standing_still import Growing, GrownUp, grow

# A tier, which is one and a half logits, in twenty-four weeks.
OFTEN = Growing(athletes=140, weeks=40, growth=0.009)


@dataclass(frozen=True)
class Found:
    """A simulated gym and the answers over all ladders."""

    gym: GrownUp
    answers: tuple[Standstill, ...]

    def share_stuck(self, truly: NDArray[np.bool_]) -> float:
        """Share called stuck of those with evidence enough who are marked in ``truly``."""
        mine = [
            one.stuck for one, here in zip(self.answers, truly, strict=True) if one.enough and here
        ]
        assert len(mine) >= 20
        return float(np.mean(mine))

    @property
    def asked(self) -> float:
        """The gain asked for in twenty-four weeks."""
        return 168 * self.gym.parameters.growth


def ask(how: Growing, seed: int, asking: Asking | None = None) -> Found:
    gym = grow(seed, how)
    said = standstills(gym.catalogue, gym.tiers, gym.log, gym.parameters, gym.on_day, asking)
    return Found(gym, tuple(one for one in said if one.ladder is None))


@pytest.fixture(scope="module", params=[0.0, 0.003], ids=["steady", "wandering"])
def found(request: pytest.FixtureRequest) -> Found:
    return ask(replace(OFTEN, wander=request.param), 1)


class TestSimulatedAthletes:
    def test_most_who_stand_still_are_found(self, found: Found) -> None:
        """Wandering carries some of those who were not taught anything up or down a little."""
        assert found.share_stuck(np.abs(found.gym.gained) < 0.5) > 0.6

    def test_who_gained_what_is_asked_is_seldom_called_stuck(self, found: Found) -> None:
        assert found.share_stuck(found.gym.gained >= found.asked - 1e-9) < 0.1

    def test_gains_lie_where_they_were_made(self, found: Found) -> None:
        gained = np.array([one.gain for one in found.answers])
        assert gained[found.gym.still].mean() == pytest.approx(0, abs=0.3)
        assert gained[~found.gym.still].mean() == pytest.approx(found.asked, abs=0.35)

    def test_six_weeks_cannot_tell_children_of_usual_growth(self, found: Found) -> None:
        """Six weeks are worth a third of a logit; twenty-four tries know it to half of one."""
        gym = found.gym
        args = (gym.catalogue, gym.tiers, gym.log, gym.parameters, gym.on_day)
        answers = standstills(*args, Asking(windows=(42,)))
        assert not any(one.enough or one.stuck for one in answers)


class TestSeldomChecked:
    """Three tries a week, as in a class where a coach checks a few children each time."""

    HOW = Growing(athletes=140, weeks=60, growth=0.005, tries_weekly=3, still_days=364)

    def test_half_a_year_can_hardly_tell_of_anybody_and_a_year_finds_some(self) -> None:
        half = ask(self.HOW, 2, Asking(windows=(42, 84, 168)))
        assert np.mean([one.enough for one in half.answers]) < 0.1
        year = ask(self.HOW, 2)
        assert year.share_stuck(year.gym.still) > 0.4
        assert year.share_stuck(~year.gym.still) < 0.1


def gains_of(log: Log, parameters: Parameters, days: int = 42) -> Gains:
    return gains(landing_and_hanging(), [1] * len(log.athletes), log, parameters, TODAY, days)


class TestGains:
    def test_without_attempts_the_answer_is_what_the_gym_expects(self) -> None:
        catalogue = landing_and_hanging()
        before = surer(catalogue, growth=0.01)
        found = gains_of(log_of(catalogue, ["ada"], []), before)
        assert found.mean[0] == pytest.approx(0.42)
        assert found.sd[0] == pytest.approx(1.0)
        assert found.ladder_sd[0] == pytest.approx(np.hypot(1.0, 0.5))

    def test_getting_better_within_the_window_is_a_gain_and_getting_worse_a_loss(self) -> None:
        catalogue = landing_and_hanging()
        better = tries("ada", "HANG-1", "mmmmmcccccc", ago=tuple(range(40, 7, -3)))
        worse = tries("ben", "HANG-1", "ccccccmmmmm", ago=tuple(range(40, 7, -3)))
        found = gains_of(log_of(catalogue, ["ada", "ben"], better + worse), surer(catalogue))
        assert found.mean[0] > 0.7 > 0 > found.mean[1]
        assert np.all(found.sd < found.prior_sd[:, 0])

    def test_a_ladder_not_tried_is_less_sure_than_the_one_tried(self) -> None:
        catalogue = landing_and_hanging()
        rows = tries("ada", "HANG-1", "mmmcccccc", ago=tuple(range(40, 4, -4)))
        found = gains_of(log_of(catalogue, ["ada"], rows), surer(catalogue))
        hanging = catalogue.ladders.index("hanging")
        assert found.ladder_sd[0, hanging] < found.ladder_sd[0, 1 - hanging]
        assert found.mean[0] == pytest.approx(found.ladder_mean[0, hanging])
        assert found.ladder_attempts[0].tolist() == [9, 0]

    def test_a_longer_list_of_athletes_changes_nobody(self) -> None:
        catalogue = landing_and_hanging()
        rows = tries("ada", "HANG-1", "mmacc", ago=(30, 20, 9, 5, 2))
        alone = gains_of(log_of(catalogue, ["ada"], rows), surer(catalogue))
        rows += tries("ben", "LAND-1", "cc", ago=(30, 20)) + tries("cem", "HANG-1", "c" * 12)
        among = gains_of(log_of(catalogue, ["zoe", "ben", "ada", "cem"], rows), surer(catalogue))
        assert among.mean[2] == pytest.approx(alone.mean[0])
        assert among.sd[2] == pytest.approx(alone.sd[0])

    def test_one_attempt_by_hand(self) -> None:
        """Bayes' rule over a grid of the gain, the first-day ability integrated out."""
        catalogue = landing_and_hanging()
        before = surer(catalogue, growth=0.0)
        log = log_of(catalogue, ["ada"], [Try("ada", "HANG-1", "miss", 0, KIM)])
        found = gains_of(log, before)
        part = 41 / 42
        spread = 1.0 + 0.6**2 + 0.6**2 + 0.1**2
        gain = np.linspace(-8, 8, 1601)
        start = np.linspace(-8, 8, 1601)
        weight = np.exp(-0.5 * gain[:, None] ** 2 / 1.25 - 0.5 * start**2 / spread)
        x = 0.4 + start - before.difficulty[2] + part * gain[:, None]
        weight = weight / (1 + np.exp(x + before.help_gap[2]))
        share = weight.sum(axis=1) / weight.sum()
        mean = float(share @ gain)
        assert found.mean[0] == pytest.approx(mean, abs=2e-3)
        assert found.sd[0] == pytest.approx(np.sqrt(share @ (gain - mean) ** 2), abs=2e-3)

    def test_attempts_after_the_day_asked_are_refused(self) -> None:
        catalogue = landing_and_hanging()
        log = log_of(catalogue, ["ada"], [Try("ada", "HANG-1", ago=-2)])
        with pytest.raises(ValueError, match="window"):
            gains_of(log, surer(catalogue))


class TestAsking:
    def test_too_few_attempts_never_make_anybody_stuck(self) -> None:
        catalogue = landing_and_hanging()
        log = log_of(catalogue, ["ada"], tries("ada", "HANG-1", "cmmmmmm", ago=(40, 1)))
        asking = Asking(windows=(42,), gain=9.0)
        said = standstills(catalogue, [1], log, surer(catalogue), TODAY, asking)
        assert said[0].p_gain < 0.1
        assert not said[0].stuck
        freely = replace(asking, least_attempts=7)
        said = standstills(catalogue, [1], log, surer(catalogue), TODAY, freely)
        assert [one.ladder for one in said] == [None, "hanging"]
        assert said[0].stuck

    @pytest.mark.parametrize("windows", [(), (84, 42), (42, 42)])
    def test_windows_rise(self, windows: tuple[int, ...]) -> None:
        with pytest.raises(ValueError, match="windows"):
            Asking(windows=windows)


def test_power_is_what_a_simulation_of_the_rule_finds() -> None:
    """A true gain of 0 seen with an error, shrunk to what was expected, then judged."""
    prior, expected, asked, error = 1.0, 0.3, 1.0, 0.5
    told = prior**2 / (prior**2 + error**2)
    sd = np.sqrt(told) * error
    seen = np.random.default_rng(1).normal(0, error, 200_000)
    mean = told * seen + (1 - told) * expected
    stuck = np.mean(ndtr((mean - asked) / sd) < 0.1)
    power = power_to_find(np.array(sd), np.array(prior), expected, asked)
    assert float(power) == pytest.approx(stuck, abs=5e-3)
    assert float(power_to_find(np.array(1.0), np.array(1.0), expected, asked)) == 0.0
