"""Intervals of a share."""

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from progress.engine.proportions import reach, wilson


def test_wilson_intervals_are_the_published_ones() -> None:
    """Newcombe 1998, Stat. Med. 17:857-872, Table I, the score method without correction."""
    low, high = wilson(np.array([81, 15, 0, 1]), np.array([263, 148, 20, 29]), 0.95)
    assert low == pytest.approx([0.2553, 0.0624, 0.0, 0.0061], abs=5e-5)
    assert high == pytest.approx([0.3662, 0.1605, 0.1611, 0.1718], abs=5e-5)


def test_wilson_intervals_are_those_of_statsmodels() -> None:
    count, of = np.array([0, 3, 17, 40]), np.array([7, 8, 20, 40])
    theirs = proportion_confint(count, of, alpha=0.1, method="wilson")
    ours = wilson(count, of, 0.9)
    assert ours[0] == pytest.approx(np.asarray(theirs[0]), abs=1e-12)
    assert ours[1] == pytest.approx(np.asarray(theirs[1]), abs=1e-12)


def test_nothing_seen_says_nothing() -> None:
    assert [float(bound[0]) for bound in wilson(np.array([0]), np.array([0]))] == [0.0, 1.0]


def test_a_count_above_its_total_is_refused() -> None:
    with pytest.raises(ValueError, match="out of"):
        wilson(np.array([3]), np.array([2]))


@pytest.mark.parametrize("level", [0.0, 1.0, 95.0])
def test_a_level_that_is_no_probability_is_refused(level: float) -> None:
    with pytest.raises(ValueError, match="level"):
        reach(level)
