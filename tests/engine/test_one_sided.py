"""Only what went well was written down: asked where a log shows it, never where it does not."""

from dataclasses import replace

import pytest

from progress.engine.log import Log
from progress.engine.one_sided import recorded
from tests.engine.small_gyms import CLEAN, KIM, LEE, MISS, Try, landing_and_hanging, log_of
from tests.simulated_gyms import Habits, simulate

USUAL = Habits(athletes=120, weeks=15, ladders=4, gates=1)


def log_with(kim: int, kim_short: int, lee: int = 0) -> Log:
    rows = [Try("ada", "HANG-1", MISS if n < kim_short else CLEAN, n + 1, KIM) for n in range(kim)]
    rows += [Try("ada", "HANG-1", CLEAN, n + 1, LEE) for n in range(lee)]
    return log_of(landing_and_hanging(), ["ada"], rows)


def test_the_gym_comes_first_then_each_coach_who_recorded() -> None:
    found = recorded(log_with(kim=10, kim_short=4, lee=5))
    assert [(one.coach, one.tries, one.short_of_clean) for one in found] == [
        (None, 15, 4),
        (KIM, 10, 4),
        (LEE, 5, 0),
    ]
    assert found[1].low < 0.4 < found[1].high


@pytest.mark.parametrize(
    ("tries", "short", "asked"), [(72, 0, False), (73, 0, True), (300, 9, False)]
)
def test_it_takes_many_clean_tries_and_hardly_another_to_ask(
    tries: int, short: int, asked: bool
) -> None:
    assert recorded(log_with(kim=tries, kim_short=short))[1].one_sided is asked


def test_an_empty_log_says_nothing() -> None:
    (gym,) = recorded(log_with(kim=0, kim_short=0))
    assert (gym.tries, gym.low, gym.high, gym.one_sided) == (0, 0.0, 1.0, False)


@pytest.mark.parametrize("seed", range(1, 4))
def test_gyms_that_record_everything_are_left_in_peace(seed: int) -> None:
    assert not any(one.one_sided for one in recorded(simulate(seed, USUAL).log))
    able = replace(USUAL, edge=2.0)  # children far above what they are asked for
    assert not any(one.one_sided for one in recorded(simulate(seed, able).log))


@pytest.mark.parametrize("seed", range(1, 4))
def test_a_gym_that_records_successes_alone_is_asked_about(seed: int) -> None:
    found = recorded(simulate(seed, replace(USUAL, misses_lost=0.98)).log)
    assert found[0].one_sided
