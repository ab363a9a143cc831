"""How long a better floor takes to find, and how long a class takes to plan.

A better floor: a library of 60 stations, 120 athletes, two areas. A class: 30 athletes on two
loops of six stations with three variants each, with lanes and adults that run short.

Run it on a quiet machine::

    python -m tests.bench.floor_bench

Targets: every answer about a floor in under 3 seconds, also the one that nothing is better, which
looks at every limit in turn; every plan of a class in under half a second.
"""

from dataclasses import replace
from time import perf_counter

import numpy as np

from progress.engine.class_plan import plan_class
from progress.engine.loop_plan import Choices, Limits
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture, picture
from progress.engine.rules import Rules
from progress.engine.station_answers import Proposal
from progress.engine.station_choice import MOST_CHANGES, cover, propose
from progress.engine.station_demand import (
    Bools,
    Demand,
    Floor,
    FloorArea,
    LibraryStation,
    Need,
    Standing,
)
from progress.engine.terms import Loop, Station, Variant
from tests.bench.tables import met, show
from tests.simulated_gyms import Habits, simulate

STATIONS, ATHLETES, LADDERS, TIERS = 60, 120, 12, 4
KINDS = ("mat", "deep mat", "box", "bench", "frame", "rope", "beam", "cone")
SECONDS = 3.0
SEEDS = 3
LOOPS, STOPS, CLASS_SIZE = 2, 6, 30
PLAN_SECONDS = 0.5
CLASS = Habits(athletes=CLASS_SIZE, weeks=20, ladders=STOPS, seen_weekly=1.0)


def made_up(seed: int) -> tuple[Demand, Floor]:
    """A hall of 12 main and 3 small-area stations, and children held back by up to six skills."""
    dice = np.random.default_rng(seed)
    skills = [f"{ladder}-{tier}" for ladder in range(LADDERS) for tier in range(1, TIERS + 1)]
    library = tuple(
        LibraryStation(
            f"station-{number:02}",
            space_m2=float(dice.integers(6, 25)),
            equipment=tuple((kind, int(dice.integers(0, 3))) for kind in KINDS),
            small_area=number >= STATIONS - 8,
        )
        for number in range(STATIONS)
    )
    needs, rows = [], []
    practised = [set(dice.choice(len(skills), 3, replace=False)) for _ in library]
    for number in range(ATHLETES):
        held = dice.choice(len(skills), dice.integers(1, 7), replace=False)
        area = "small" if number % 6 == 0 else "main"
        for skill in sorted(held):
            needs.append(Need(f"athlete-{number:03}", skills[skill], 1.0 / len(held), area))
            rows.append([skill in mine and dice.random() < 0.8 for mine in practised])
    standing = tuple(
        Standing("main" if number < 12 else "small", station.code, fixed=number in (0, 1))
        for number, station in enumerate((*library[:12], *library[-3:]))
    )
    fits: Bools = np.array(rows, dtype=np.bool_)
    areas = (FloorArea("main", space_m2=200.0), FloorArea("small", small=True, space_m2=70.0))
    return Demand(tuple(needs), fits), Floor(areas, library, standing, dict.fromkeys(KINDS, 18))


def after(floor: Floor, proposal: Proposal) -> Floor:
    """The floor with the swaps made."""
    into = {(swap.area, swap.out): swap.into for swap in proposal.swaps}
    standing = [
        replace(one, station=into.get((one.area, one.station), one.station))
        for one in floor.standing
    ]
    return replace(floor, standing=tuple(standing))


def coverage(seed: int) -> list[list[object]]:
    """Rows of the table for one made-up gym: each question once."""
    demand, floor = made_up(seed)
    places = {
        f"{ladder}-{tier}": (str(ladder), tier)
        for ladder in range(LADDERS)
        for tier in range(1, TIERS + 1)
    }
    start = perf_counter()
    cover(demand, floor, places)
    seconds = perf_counter() - start
    rows: list[list[object]] = [[seed, "cover", seconds, "", "", met(seconds < SECONDS)]]
    for changes in range(1, MOST_CHANGES + 1):
        rows.append(_timed(seed, f"{changes} changes", demand, floor, changes))
    while (proposal := propose(demand, floor, MOST_CHANGES)).swaps:
        floor = after(floor, proposal)
    rows.append(_timed(seed, "nothing better, 1", demand, floor, 1))
    rows.append(_timed(seed, "nothing better, 3", demand, floor, MOST_CHANGES))
    return rows


def _timed(seed: int, what: str, demand: Demand, floor: Floor, changes: int) -> list[object]:
    start = perf_counter()
    proposal = propose(demand, floor, changes)
    seconds = perf_counter() - start
    served = f"{proposal.children_before} to {proposal.children_after} of {proposal.children}"
    weight = f"{proposal.weight_before:.2f} to {proposal.weight_after:.2f}"
    return [seed, what, seconds, served, weight, met(seconds < SECONDS)]


def made_up_class(seed: int) -> tuple[Picture, list[Loop]]:
    """What is known of a class, and a floor whose stations practise its ladders step by step."""
    gym = simulate(seed, CLASS)
    before = Parameters.before_any_log(gym.catalogue)
    known = picture(gym.catalogue, gym.athletes, gym.log, before, Rules(), gym.on_day)
    loops = [
        Loop(f"loop-{loop}", tuple(_station(gym.catalogue.ladders[n], loop) for n in range(STOPS)))
        for loop in range(LOOPS)
    ]
    return known, loops


def _station(ladder: str, loop: int) -> Station:
    variants = tuple(
        Variant(f"{ladder}-{loop}{step:+d}", f"{ladder}-{step + 2}", step, spotter=step > 0)
        for step in (-1, 0, 1)
    )
    return Station(f"{ladder}-{loop}", variants)


def class_plans(seed: int) -> list[list[object]]:
    """Rows of the table for one made-up class: more and more limits, then choices by hand."""
    known, loops = made_up_class(seed)
    tight = [replace(loop, stations=tuple(_tight(s) for s in loop.stations)) for loop in loops]
    by_hand = Choices(
        {row: loops[row % LOOPS].code for row in range(0, CLASS_SIZE, 3)},
        {(row, loops[0].stations[1].code): "" for row in range(5)},
    )
    asked = (
        ("any number of adults", loops, Limits(spotters=None), Choices()),
        ("two adults", loops, Limits(spotters=2), Choices()),
        ("two adults, few places", tight, Limits(spotters=2), Choices()),
        ("the same, some by hand", tight, Limits(spotters=2), by_hand),
    )
    rows: list[list[object]] = []
    for what, floor, limits, choices in asked:
        start = perf_counter()
        plan = plan_class(known, range(CLASS_SIZE), floor, limits, choices)
        seconds = perf_counter() - start
        placed = sum(one.variant is not None for one in plan.suggestions)
        good = met(seconds < PLAN_SECONDS)
        rows.append([seed, what, seconds, placed, len(plan.shortfalls), good])
    return rows


def _tight(station: Station) -> Station:
    return replace(station, variants=tuple(replace(v, places=5) for v in station.variants))


def main() -> None:
    """Time every question and print two tables."""
    rows = [row for seed in range(SEEDS) for row in coverage(seed)]
    columns = ["gym", "question", "seconds", "children served", "weight served", "under 3 s"]
    show(f"A better floor, {STATIONS} stations, {ATHLETES} athletes", columns, rows)
    rows = [row for seed in range(SEEDS) for row in class_plans(seed)]
    columns = ["class", "question", "seconds", "variants", "limits short", "under 0.5 s"]
    show(f"A class: {CLASS_SIZE} athletes, {LOOPS} loops, {STOPS} stations", columns, rows)


if __name__ == "__main__":
    main()
