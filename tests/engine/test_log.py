"""The log as arrays: in one order, whatever order it came in."""

from dataclasses import fields
from random import Random

import numpy as np
import pytest

from progress.engine.log import UNKNOWN, Log
from tests.engine.small_gyms import TODAY, Try, landing_and_hanging, log_of

CATALOGUE = landing_and_hanging()
ROWS = [
    Try("bo", "HANG-1", "miss", ago=3),
    Try("ada", "LAND-1", ago=2, variant="drop+1"),
    Try("ada", "LAND-1", "assisted", ago=2, coach=""),
    Try("ada", "HANG-1", ago=9, coach="lee"),
    Try("cy", "HANG-1", ago=0.9),
]
NAMES = ("ada", "bo", "cy", "dee")


def same(first: Log, second: Log) -> bool:
    pairs = ((getattr(first, f.name), getattr(second, f.name)) for f in fields(Log))
    return all(np.array_equal(a, b) for a, b in pairs)


def test_shuffled_rows_give_the_same_log() -> None:
    log = log_of(CATALOGUE, NAMES, ROWS)
    for seed in range(10):
        shuffled = ROWS.copy()
        Random(seed).shuffle(shuffled)
        assert same(log_of(CATALOGUE, NAMES, shuffled), log)


def test_rows_are_sorted_by_athlete_and_time_with_ties_by_what_was_tried_and_how_it_went() -> None:
    log = log_of(CATALOGUE, NAMES, ROWS)
    assert [NAMES[row] for row in log.athlete] == ["ada", "ada", "ada", "bo", "cy"]
    assert log.result.tolist() == [2, 2, 1, 0, 2]
    assert log.starts().tolist() == [0, 3, 4, 5, 5]


def test_a_miss_comes_last_among_tries_of_one_moment_whoever_saw_it() -> None:
    """A file may know only the day: then a miss must not drop out of the last five."""
    rows = [
        Try("ada", "LAND-1", result, ago=2, coach=coach)
        for result, coach in (("miss", "kim"), ("clean", "lee"), ("assisted", "lee"))
    ]
    assert log_of(CATALOGUE, NAMES, rows).result.tolist() == [2, 1, 0]


def test_an_unknown_coach_or_variant_is_kept_as_unknown() -> None:
    log = log_of(CATALOGUE, NAMES, ROWS)
    assert log.coaches == ("kim", "lee")
    assert log.variants == ("drop+1",)
    assert log.coach.tolist().count(UNKNOWN) == 1
    assert log.variant.tolist().count(UNKNOWN) == 4


@pytest.mark.parametrize("wrong", [Try("nobody", "LAND-1"), Try("ada", "FLY-1")])
def test_tries_of_strangers_and_at_unknown_skills_are_refused(wrong: Try) -> None:
    with pytest.raises(KeyError):
        log_of(CATALOGUE, NAMES, [*ROWS, wrong])


def test_before_leaves_out_what_came_on_or_after_the_moment() -> None:
    log = log_of(CATALOGUE, NAMES, ROWS)
    assert len(log.before(TODAY - 1.25)) == 2
    assert len(log.before(TODAY - 1.2499)) == 4
    assert set(log.before(float(TODAY - 1)).day) == {TODAY - 9, TODAY - 3, TODAY - 2}


def test_the_log_of_some_athletes_is_theirs_alone_and_numbered_anew() -> None:
    part = log_of(CATALOGUE, NAMES, ROWS).of([1, 2])
    assert part.athletes == ("bo", "cy")
    assert part.athlete.tolist() == [0, 1]
    assert part.skill.tolist() == [CATALOGUE.position["HANG-1"]] * 2


def test_an_empty_log_is_a_log() -> None:
    log = log_of(CATALOGUE, NAMES, [])
    assert len(log) == 0
    assert log.starts().tolist() == [0] * 5
