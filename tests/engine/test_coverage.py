"""Do the 90% intervals hold 90%? On simulated gyms, with everything learnt from their logs."""

import numpy as np
import pytest

from progress.engine.picture import Picture, picture
from progress.engine.rules import Rules
from tests.engine.conftest import Learnt
from tests.simulated_gyms import SimulatedGym

Pictured = tuple[SimulatedGym, Picture]


@pytest.fixture(scope="module")
def pictures(learnt_gyms: tuple[Learnt, ...]) -> tuple[Pictured, ...]:
    return tuple(
        (gym, picture(gym.catalogue, gym.athletes, gym.log, learnt, Rules(), gym.on_day))
        for gym, learnt in learnt_gyms
    )


def inside(gym: SimulatedGym, told: Picture) -> np.ndarray:
    low, high = told.interval
    return np.asarray((low <= gym.chance) & (gym.chance <= high))


def test_nine_tenths_of_the_true_chances_lie_inside(pictures: tuple[Pictured, ...]) -> None:
    """200 athletes, 30 weeks: 86% to 94% in every gym, of skills tried and of those never tried."""
    for gym, told in pictures:
        held, tried = inside(gym, told), told.evidence.attempts > 0
        shares = [held.mean(), held[tried].mean(), held[~tried].mean()]
        print("inside: all {:.3f}, tried {:.3f}, never tried {:.3f}".format(*shares))
        assert all(0.86 <= share <= 0.94 for share in shares)


def test_the_intervals_hold_near_the_standard_where_decisions_are_made(
    pictures: tuple[Pictured, ...],
) -> None:
    shares = []
    for gym, told in pictures:
        close = (told.chance > 0.6) & (told.chance < 0.9) & (told.evidence.attempts > 2)
        shares.append(inside(gym, told)[close].mean())
    print("inside where the chance is 0.6 to 0.9:", np.round(shares, 3))
    assert all(0.85 <= share <= 0.95 for share in shares)


def test_the_chance_is_right_as_often_as_it_says(pictures: tuple[Pictured, ...]) -> None:
    """By tenths: the mean true chance is within 0.05 of what was said, over all three gyms."""
    said = np.concatenate([told.chance.ravel() for _, told in pictures])
    true = np.concatenate([gym.chance.ravel() for gym, _ in pictures])
    tenth = np.minimum((said * 10).astype(int), 9)
    gaps = [float((true - said)[tenth == part].mean()) for part in range(10)]
    print("true less said, by tenths:", np.round(gaps, 3))
    assert np.abs(gaps).max() < 0.05


def test_more_tries_make_narrower_intervals(pictures: tuple[Pictured, ...]) -> None:
    for _, told in pictures:
        tries = told.evidence.recent
        widths = [np.sqrt(told.variance[tries == n]).mean() for n in (0, 2, 5)]
        assert widths[0] > widths[1] > widths[2]
