"""A class on the floor: balanced groups, and limits that a group shares while it is on a loop."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import logit

from progress.engine.class_plan import plan_class
from progress.engine.loop_plan import Limits, suggest
from progress.engine.picture import Picture
from progress.engine.terms import Athlete, Catalogue, Loop, Skill, Station, Variant
from tests.engine.small_gyms import LATELY, picture_of, surer, tries

CATALOGUE = Catalogue((Skill("HANG", "hanging", 1), Skill("BEAM", "balance", 1)))
HANG_LOOP = Loop("hanging", (Station("bars", (Variant("bars0", "HANG"),)),))
BEAM_LOOP = Loop("balance", (Station("beam", (Variant("beam0", "BEAM"),)),))
LOOPS = (HANG_LOOP, BEAM_LOOP)


def class_of(count: int, **changes: object) -> Picture:
    """Athletes in tier 1; every other one hangs well and falls off the beam, the rest turned."""
    people = [replace(Athlete(f"a{n}", 1), **changes) for n in range(count)]  # type: ignore[arg-type]
    rows = [
        one
        for number, person in enumerate(people)
        for skill, results in zip(
            ("HANG", "BEAM") if number % 2 else ("BEAM", "HANG"), ("cccccc", "mmmmmm"), strict=True
        )
        for one in tries(person.code, skill, results, ago=LATELY)
    ]
    parameters = surer(CATALOGUE, difficulty=np.zeros(2))
    return picture_of(CATALOGUE, people, rows, parameters=parameters)


def test_groups_start_where_they_fit_best() -> None:
    plan = plan_class(class_of(6), range(6), LOOPS, Limits())
    assert plan.starts == {n: "hanging" if n % 2 else "balance" for n in range(6)}


@pytest.mark.parametrize("count", [1, 2, 5, 9])
def test_groups_differ_by_at_most_one(count: int) -> None:
    plan = plan_class(class_of(count), range(count), (*LOOPS, Loop("rest", ())), Limits())
    sizes = Counter(plan.starts.values())
    assert sum(sizes.values()) == count
    assert max(sizes.values()) - min(sizes[loop] for loop in ("hanging", "balance", "rest")) <= 1


def test_a_group_shares_places_and_the_next_group_finds_them_free() -> None:
    station = Station("bars", (Variant("bars0", "HANG", places=1),))
    loops = (Loop("hanging", (station,)), BEAM_LOOP)
    plan = plan_class(class_of(4), range(4), loops, Limits())
    by_group = {
        loop: [
            one.variant for one in plan.suggestions if one.station == "bars" and one.athlete in who
        ]
        for loop, who in (("balance", ("a0", "a2")), ("hanging", ("a1", "a3")))
    }
    for variants in by_group.values():
        assert sorted(variants, key=str) == [None, "bars0"]


def test_who_is_on_hold_starts_nowhere_and_is_sent_nowhere() -> None:
    plan = plan_class(class_of(3, held=True), range(3), LOOPS, Limits())
    assert plan.starts == {}
    assert {one.variant for one in plan.suggestions} == {None}


def test_everybody_has_an_answer_for_every_station_of_every_loop_in_order() -> None:
    plan = plan_class(class_of(4), [2, 0, 3, 1], LOOPS, Limits())
    told = [(one.loop, one.athlete) for one in plan.suggestions]
    order = ["a2", "a0", "a3", "a1"]
    assert told == [(loop, name) for loop in ("hanging", "balance") for name in order]


def test_children_who_never_meet_are_planned_alone() -> None:
    told = class_of(4)
    easy = Variant("easy", "HANG", difficulty=float(logit(0.2)), places=0)
    loops = (Loop("hanging", (Station("bars", (easy,)),)),)
    alone = Limits(count_places=False)
    plan = plan_class(told, range(4), loops, alone)
    assert plan.starts == {}
    assert plan.suggestions == suggest(told, range(4), loops, alone)
    assert {one.variant for one in plan.suggestions} == {"easy"}


def test_without_loops_there_is_no_plan() -> None:
    plan = plan_class(class_of(2), range(2), (), Limits())
    assert (plan.suggestions, plan.starts) == ((), {})
