"""The proposal against every floor within reach, on small random halls."""

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from progress.engine.station_answers import Answer, Proposal
from progress.engine.station_choice import propose
from progress.engine.station_demand import (
    Demand,
    Floor,
    FloorArea,
    LibraryStation,
    Need,
    Standing,
)

Slots = frozenset[tuple[str, str]]


@st.composite
def halls(draw: st.DrawFn) -> tuple[Demand, Floor]:
    """Up to two areas, six stations, eight needs; weights are sixteenths, so sums are exact."""
    codes = "pqrstu"[: draw(st.integers(2, 6))]
    library = tuple(
        LibraryStation(
            code,
            space_m2=float(draw(st.integers(0, 4))),
            equipment=(("mat", draw(st.integers(0, 2))), ("bench", draw(st.integers(0, 1)))),
            small_area=draw(st.integers(0, 4)) == 0,
        )
        for code in codes
    )
    room = st.one_of(st.none(), st.integers(3, 9).map(float))
    areas = [FloorArea("main", space_m2=draw(room))]
    if draw(st.booleans()):
        areas.append(FloorArea("small", small=True, space_m2=draw(room)))
    standing = tuple(
        Standing(area.code, code, fixed=draw(st.integers(0, 4)) == 0)
        for area in areas
        for code in draw(st.lists(st.sampled_from(codes), max_size=3, unique=True))
    )
    pairs = draw(
        st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("xyz")), max_size=8, unique=True)
    )
    needs = tuple(
        Need(
            athlete,
            skill,
            draw(st.integers(1, 16)) / 16,
            draw(st.sampled_from([None, *(area.code for area in areas)])),
        )
        for athlete, skill in pairs
    )
    fits = [[draw(st.booleans()) for _ in codes] for _ in needs]
    counted = draw(st.sampled_from([{}, {"mat": 3}, {"mat": 2, "bench": 1}]))
    return (
        Demand(needs, np.array(fits, dtype=np.bool_).reshape(len(needs), len(codes))),
        Floor(tuple(areas), library, standing, counted),
    )


def floors_within(floor: Floor, changes: int) -> Iterator[Slots]:
    """Every floor that keeps all limits, found by trying each."""
    codes = [one.code for one in floor.library]
    present = frozenset((one.area, one.station) for one in floor.standing)
    choices = []
    for area in floor.areas:
        count = sum(one.area == area.code for one in floor.standing)
        choices.append(
            [[(area.code, code) for code in some] for some in combinations(codes, count)]
        )
    for picked in product(*choices):
        slots = frozenset(slot for some in picked for slot in some)
        if len(slots - present) <= changes and keeps_limits(floor, slots):
            yield slots


def keeps_limits(floor: Floor, slots: Slots) -> bool:
    stations = {one.code: one for one in floor.library}
    areas = {one.code: one for one in floor.areas}
    if any((one.area, one.station) not in slots for one in floor.standing if one.fixed):
        return False
    if any(stations[code].small_area and not areas[area].small for area, code in slots):
        return False
    for area in floor.areas:
        used = sum(stations[code].space_m2 for where, code in slots if where == area.code)
        if area.space_m2 is not None and used > area.space_m2:
            return False
    return all(
        sum(dict(stations[code].equipment).get(kind, 0) for _, code in slots) <= there
        for kind, there in floor.equipment.items()
    )


def worth(demand: Demand, floor: Floor, slots: Slots) -> float:
    codes = [one.code for one in floor.library]
    return sum(
        need.weight
        for need, row in zip(demand.needs, demand.fits, strict=True)
        if any(row[codes.index(code)] and need.area in (None, area) for area, code in slots)
    )


def proposed(floor: Floor, proposal: Proposal) -> Slots:
    slots = {(one.area, one.station) for one in floor.standing}
    for swap in proposal.swaps:
        slots.remove((swap.area, swap.out))
        slots.add((swap.area, swap.into))
    return frozenset(slots)


def order_of(floor: Floor, slots: Slots) -> tuple[int, int]:
    """Fewest changes, then the sum of places by code of what comes and of what goes."""
    present = frozenset((one.area, one.station) for one in floor.standing)
    every = sorted((area.code, one.code) for area in floor.areas for one in floor.library)
    place = {slot: number for number, slot in enumerate(every, start=1)}
    changed = (slots - present) | (present - slots)
    return len(slots - present), sum(place[slot] for slot in changed)


@settings(max_examples=150, deadline=None)
@given(halls(), st.integers(1, 3))
def test_nothing_within_reach_serves_more(case: tuple[Demand, Floor], changes: int) -> None:
    demand, floor = case
    reach = list(floors_within(floor, changes))
    proposal = propose(demand, floor, changes)
    if not reach:
        assert proposal.answer is Answer.IMPOSSIBLE
        assert proposal.swaps == ()
        return
    slots = proposed(floor, proposal)
    assert slots in reach, "a limit is broken"
    most = max(worth(demand, floor, one) for one in reach)
    assert worth(demand, floor, slots) == proposal.weight_after == most
    plainest = min(order_of(floor, one) for one in reach if worth(demand, floor, one) == most)
    assert order_of(floor, slots) == plainest
    assert (proposal.answer is Answer.CHANGE) == bool(proposal.swaps)


@settings(max_examples=60, deadline=None)
@given(halls(), st.integers(1, 2))
def test_a_limit_named_is_one_whose_absence_helps(case: tuple[Demand, Floor], changes: int) -> None:
    demand, floor = case
    proposal = propose(demand, floor, changes)
    for binding in proposal.binding:
        more = changes
        free = floor
        match binding.limit.kind:
            case "space":
                free = replace(floor, areas=tuple(no_space(floor.areas, binding.limit.name)))
            case "equipment":
                left = {k: n for k, n in floor.equipment.items() if k != binding.limit.name}
                free = replace(floor, equipment=left)
            case "fixed":
                loose = tuple(replace(one, fixed=False) for one in floor.standing)
                free = replace(floor, standing=loose)
            case "small_area":
                anywhere = tuple(replace(one, small_area=False) for one in floor.library)
                free = replace(floor, library=anywhere)
            case "changes":
                more = 3 if binding.gain is not None else len(floor.standing)
        reach = list(floors_within(free, more))
        assert reach
        if binding.gain is not None:
            gained = max(worth(demand, free, one) for one in reach) - proposal.weight_before
            assert binding.gain == pytest.approx(gained)
            assert gained > 0


@settings(max_examples=40, deadline=None)
@given(halls(), st.integers(1, 3), st.integers(0, 1000))
def test_the_order_of_input_changes_nothing(
    case: tuple[Demand, Floor], changes: int, seed: int
) -> None:
    demand, floor = case
    dice = random.Random(seed)
    rows = dice.sample(range(len(demand.needs)), len(demand.needs))
    columns = dice.sample(range(len(floor.library)), len(floor.library))
    shuffled = (
        Demand(tuple(demand.needs[row] for row in rows), demand.fits[rows][:, columns])
        if rows
        else Demand((), demand.fits[:, columns])
    )
    other = replace(
        floor,
        areas=tuple(reversed(floor.areas)),
        library=tuple(floor.library[column] for column in columns),
        standing=tuple(dice.sample(floor.standing, len(floor.standing))),
        equipment=dict(reversed(list(floor.equipment.items()))),
    )
    assert propose(shuffled, other, changes) == propose(demand, floor, changes)


def no_space(areas: Sequence[FloorArea], code: str) -> Iterator[FloorArea]:
    for area in areas:
        yield replace(area, space_m2=None) if area.code == code else area
