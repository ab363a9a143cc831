"""Gyms and what was learnt from their logs, made once for all tests of the engine."""

import pytest

from progress.engine.calibration import calibrate
from progress.engine.parameters import Parameters
from tests.simulated_gyms import SimulatedGym, simulate

Learnt = tuple[SimulatedGym, Parameters]


@pytest.fixture(scope="session")
def learnt_gyms() -> tuple[Learnt, ...]:
    """Three gyms of 200 athletes and 30 weeks, each with the parameters learnt from its log."""
    gyms = [simulate(seed) for seed in (1, 2, 3)]
    return tuple((gym, calibrate(gym.catalogue, gym.tiers, gym.log)) for gym in gyms)
