"""The compiled loop answers as the arrays do, to the last digits that matter."""

import numpy as np
import pytest

from progress.engine import replay as replaying
from progress.engine.compiled import HAS_COMPILER
from progress.engine.log import Log
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses, Replayed, replay
from progress.engine.terms import Catalogue
from tests.machine import missing
from tests.simulated_gyms import ladder_catalogue

CATALOGUE = ladder_catalogue(ladders=3, tiers=3)
START, DAYS = 738_000, 400
NEVER = 10**9


@pytest.fixture(autouse=True)
def _compiler() -> None:
    if not HAS_COMPILER:
        missing("the compiler (numba)")


def some_log(seed: int, athletes: int = 25, attempts: int = 900) -> Log:
    """Unknown coaches and variants, days of several tries, long breaks, one without a try."""
    dice = np.random.default_rng(seed)
    athlete = np.sort(dice.integers(0, athletes - 1, attempts))
    day = START + np.floor(DAYS * dice.random(attempts) ** 2)
    when = day + 0.6 + 0.2 * dice.random(attempts)
    order = np.lexsort((when, athlete))
    return Log(
        athletes=tuple(f"A{number}" for number in range(athletes)),
        coaches=("kim", "new"),
        variants=("low", "high"),
        athlete=athlete[order],
        skill=dice.integers(0, len(CATALOGUE.skills), attempts),
        when=when[order],
        result=dice.integers(0, 3, attempts),
        coach=dice.integers(-1, 2, attempts),
        variant=dice.integers(-1, 2, attempts),
    )


def learnt(catalogue: Catalogue, drift: float = 0.004) -> Parameters:
    start = Parameters.before_any_log(catalogue)
    values = {**start.as_json(), "drift": drift, "growth": 0.003}
    values |= {"severity": {"kim": 0.4}, "variant": {"low": -0.8}}
    return Parameters.from_json(values)


def both(
    log: Log, parameters: Parameters, monkeypatch: pytest.MonkeyPatch, pauses: Pauses | None = None
) -> tuple[Replayed, Replayed]:
    tiers = [1 + row % 3 for row in range(len(log.athletes))]
    said = []
    for worth in (NEVER, 0):
        monkeypatch.setattr(replaying, "WORTH_COMPILING", worth)
        until = float(START + DAYS + 30)
        said.append(replay(CATALOGUE, tiers, log, parameters, until, pauses))
    return said[0], said[1]


def assert_same(one: Replayed, other: Replayed) -> None:
    assert np.allclose(one.log_chance, other.log_chance, rtol=0, atol=1e-10)
    for name, values in vars(one.beliefs).items():
        assert np.allclose(values, getattr(other.beliefs, name), rtol=0, atol=1e-10), name


@pytest.mark.parametrize("seed", range(4))
def test_both_ways_end_with_the_same_beliefs(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    arrays, loop = both(some_log(seed), learnt(CATALOGUE), monkeypatch)
    assert_same(arrays, loop)
    assert np.ptp(loop.beliefs.root_mean) > 0.5


def test_holds_fade_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    log, parameters = some_log(5), learnt(CATALOGUE)
    pauses = {
        "A2": [(START + 40.0, START + 90.0)],
        "A3": [(START + 10.0, START + 20.0), (START + DAYS - 5.0, START + DAYS + 30.0)],
        "A24": [(START + 1.0, START + 2.0)],
    }
    arrays, loop = both(log, parameters, monkeypatch, pauses)
    assert_same(arrays, loop)
    without = both(log, parameters, monkeypatch)[1]
    assert loop.beliefs.root_var[2] > without.beliefs.root_var[2]


def test_time_kept_aside_is_put_back_alike_when_there_is_much_of_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert_same(*both(some_log(6), learnt(CATALOGUE, drift=0.5), monkeypatch))


def test_surprises_beyond_any_sense_stay_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    parameters = learnt(CATALOGUE)
    parameters.difficulty[:] = np.where(np.arange(len(parameters.difficulty)) % 2, 60.0, -60.0)
    arrays, loop = both(some_log(7), parameters, monkeypatch)
    assert np.isfinite(loop.log_chance).all()
    assert_same(arrays, loop)


def test_a_short_log_does_not_wait_for_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> Replayed:
        raise AssertionError("compiled a short log")

    monkeypatch.setattr(replaying, "_replay_compiled", never)
    log = some_log(8)
    assert len(replay(CATALOGUE, [1] * 25, log, learnt(CATALOGUE), START + 900.0).log_chance) == 900
