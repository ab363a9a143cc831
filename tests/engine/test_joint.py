"""The joint probability of several skills, against scipy's multivariate normal."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from progress.engine.beliefs import Beliefs
from progress.engine.joint import all_above
from progress.engine.parameters import Parameters
from progress.engine.replay import replay
from tests.simulated_gyms import Habits, simulate

GYM = simulate(6, Habits(athletes=30, weeks=12))
ROWS = range(0, 30, 4)


def beliefs(**spreads: float) -> Beliefs:
    before = replace(Parameters.before_any_log(GYM.catalogue), **spreads)
    return replay(GYM.catalogue, GYM.tiers, GYM.log, before, GYM.on_day + 1.0).beliefs


def before_any_log() -> Beliefs:
    return Beliefs.at_start(GYM.catalogue, [1, 2, 3], Parameters.before_any_log(GYM.catalogue))


def by_scipy(
    told: Beliefs, row: int, columns: list[int], bars: np.ndarray, extra: np.ndarray
) -> float:
    mean = told.abilities()[0][row, columns] - bars
    covariance = told.covariance(row)[np.ix_(columns, columns)] + np.diag(extra)
    above = multivariate_normal(mean, covariance, abseps=5e-5, releps=5e-5, seed=1)
    ends = np.full(len(columns), np.inf)
    return float(above.cdf(ends, lower_limit=np.zeros(len(columns))))


@pytest.mark.parametrize(
    "columns",
    [
        pytest.param([0, 4, 8, 12, 16, 20, 24, 28], id="one skill on each of eight ladders"),
        pytest.param([1, 5, 9], id="one skill on each of three"),
        pytest.param([0, 1, 2, 3], id="four skills on one ladder"),
        pytest.param([0, 1, 2, 5, 6, 11], id="several on some ladders"),
        pytest.param([6, 0, 11, 2, 5, 1], id="in any order"),
    ],
)
@pytest.mark.parametrize(
    "spreads",
    [
        pytest.param({}, id="starting spreads"),
        pytest.param({"general_sd": 2.0, "ladder_sd": 0.2, "skill_sd": 0.2}, id="nearly one"),
        pytest.param({"general_sd": 0.3, "ladder_sd": 1.2, "skill_sd": 0.3}, id="by ladder"),
    ],
)
def test_it_is_the_probability_of_the_correlated_normal(
    columns: list[int], spreads: dict[str, float]
) -> None:
    """To 0.0005, of which scipy's own integration takes up to 0.0001."""
    told = beliefs(**spreads)
    tiers = np.array([GYM.catalogue.skills[column].tier for column in columns])
    bars = (tiers - 1) * 1.5 + np.linspace(0.2, 1.6, len(columns))
    extra = np.linspace(0.02, 0.3, len(columns))
    ours = all_above(told, columns, bars, extra)
    theirs = [by_scipy(told, row, columns, bars, extra) for row in ROWS]
    assert np.allclose(ours[list(ROWS)], theirs, atol=5e-4)
    assert np.ptp(ours) > 0.05


def test_correlated_skills_are_not_a_product_of_single_ones() -> None:
    told, columns = before_any_log(), [0, 4, 8]
    bars, extra = np.full(3, 1.0), np.zeros(3)
    single = [all_above(told, [c], bars[:1], extra[:1]) for c in columns]
    joint = all_above(told, columns, bars, extra)
    assert np.all(joint <= np.min(single, axis=0) + 1e-6)
    assert np.mean(joint - np.prod(single, axis=0)) > 0.05


def test_a_single_skill_has_a_closed_form() -> None:
    told = beliefs()
    mean, variance = told.abilities()
    for column in (0, 13, 31):
        exact = norm.sf((0.7 - mean[:, column]) / np.sqrt(variance[:, column] + 0.2))
        ours = all_above(told, [column], np.array([0.7]), np.array([0.2]))
        assert np.allclose(ours, exact, atol=1e-6)


def test_no_skills_are_certainly_held() -> None:
    told = beliefs()
    assert np.array_equal(all_above(told, [], np.zeros(0), np.zeros(0)), np.ones(30))


def test_no_athletes_have_no_answers() -> None:
    nobody = beliefs().rows(np.zeros(0, dtype=np.int64))
    assert all_above(nobody, [0, 4], np.zeros(2), np.zeros(2)).shape == (0,)
