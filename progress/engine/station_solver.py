"""Choose stations within the hall's limits: a binary programme for scipy's HiGHS solver."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from progress.engine.outcomes import Floats
from progress.engine.station_demand import Table

# Weights of needs that differ by less count as the same: ten times what the solver tells apart.
CLOSE = 1e-5
NO_FLOOR = 2  # the solver's word for a programme that nothing satisfies


class LimitKind(StrEnum):
    """What can stand in the way of another station."""

    SPACE = "space"
    EQUIPMENT = "equipment"
    CHANGES = "changes"
    FIXED = "fixed"
    SMALL_AREA = "small_area"


@dataclass(frozen=True, order=True)
class Limit:
    """One limit; ``name`` is the area or the kind of equipment, empty for the others."""

    kind: LimitKind
    name: str = ""


@dataclass(frozen=True)
class _Room:
    """A limit in figures: what every slot takes, and how much there is."""

    limit: Limit
    takes: Floats
    there_is: float


def limits_of(table: Table) -> list[Limit]:
    """Every limit this hall sets, in a fixed order."""
    limits = [room.limit for room in _rooms(table)]
    if table.fixed:
        limits.append(Limit(LimitKind.FIXED))
    if any(station.small_area for station in table.stations):
        limits.append(Limit(LimitKind.SMALL_AREA))
    return [*limits, Limit(LimitKind.CHANGES)]


def broken(table: Table, slots: Sequence[int]) -> list[Limit]:
    """Limits of space, equipment and small areas that these stations together break."""
    rooms = _rooms(table)
    over = [room.limit for room in rooms if room.takes[list(slots)].sum() > room.there_is + CLOSE]
    misplaced = any(_misplaced(table, slot) for slot in slots)
    return [*over, Limit(LimitKind.SMALL_AREA)] if misplaced else over


def best_slots(
    table: Table, changes: int, without: Iterable[Limit] = (), *, plainest: bool = True
) -> list[int] | None:
    """The slots whose stations serve the most, or None where the limits allow nothing.

    Every area keeps its number of stations and at most ``changes`` stations are new. Of equally
    good answers the one with the fewest changes is taken, then the one whose stations, coming and
    going, stand first by code; without ``plainest`` any of them, found sooner. ``without`` are
    limits to leave out.
    """
    programme = _Programme(table, changes, frozenset(without))
    first = programme.solve(programme.worth())
    if first is None or not plainest:
        return first
    second = programme.solve(programme.plainness(), at_least=table.worth(first))
    return first if second is None else second


class _Programme:
    """Variables: one for each slot, then one for each group of needs that the same slots serve."""

    def __init__(self, table: Table, changes: int, without: frozenset[Limit]) -> None:
        self.table = table
        patterns, group = np.unique(table.serves, axis=0, return_inverse=True)
        weights = np.bincount(group.ravel(), table.weights, len(patterns))
        can_be = patterns.any(axis=1)
        self.patterns, self.weights = patterns[can_be], weights[can_be]
        self.slots, self.groups = len(table.slots), int(can_be.sum())
        self.new = np.ones(self.slots)
        self.new[table.present] = 0.0
        self.rules = [*self._counts(), self._covers(), *self._limits(changes, without)]
        self.bounds = self._bounds(without)

    def worth(self) -> Floats:
        """Cost whose least is the most weight served."""
        return np.concatenate([np.zeros(self.slots), -self.weights])

    def plainness(self) -> Floats:
        """Cost whose least is the fewest changes, then the first codes."""
        place = np.arange(1, self.slots + 1) / (self.slots * (2.0 * len(self.table.present) + 1))
        costs = np.where(self.new > 0, 1.0 + place, -place)
        return np.concatenate([costs, np.zeros(self.groups)])

    def solve(self, cost: Floats, at_least: float | None = None) -> list[int] | None:
        """The slots chosen; ``at_least`` is the weight that must be served."""
        rules = list(self.rules)
        if at_least is not None:
            rules.append(LinearConstraint(-self.worth()[None, :], at_least - CLOSE, np.inf))
        if (self.bounds.lb > self.bounds.ub).any():
            return None
        if not len(cost):
            return []
        # The solver's simplifying first pass gives up on a few small programmes that it can solve.
        for presolve in (True, False):
            answer = milp(
                cost,
                integrality=np.repeat([1, 0], [self.slots, self.groups]),
                bounds=self.bounds,
                constraints=rules,
                options={"mip_rel_gap": 0.0, "presolve": presolve},
            )
            if answer.x is not None:
                return [int(slot) for slot in np.flatnonzero(answer.x[: self.slots] > 0.5)]
            if answer.status == NO_FLOOR:
                return None
        raise RuntimeError(f"the solver gave no answer: {answer.message}")

    def _bounds(self, without: frozenset[Limit]) -> Bounds:
        low, high = np.zeros(self.slots + self.groups), np.ones(self.slots + self.groups)
        if Limit(LimitKind.FIXED) not in without:
            low[self.table.fixed] = 1.0
        if Limit(LimitKind.SMALL_AREA) not in without:
            for slot in range(self.slots):
                if _misplaced(self.table, slot):
                    high[slot] = 0.0
        return Bounds(np.minimum(low, 1.0), high)

    def _counts(self) -> list[LinearConstraint]:
        """Every area keeps its number of stations."""
        each = len(self.table.stations)
        rules = []
        for number in range(len(self.table.areas)):
            row = np.zeros((1, self.slots + self.groups))
            row[0, number * each : (number + 1) * each] = 1.0
            count = sum(slot // each == number for slot in self.table.present)
            rules.append(LinearConstraint(row, count, count))
        return rules

    def _covers(self) -> LinearConstraint:
        """A group of needs is served, once, where one of its slots is taken."""
        rows = np.hstack([-self.patterns.astype(np.float64), np.eye(self.groups)])
        return LinearConstraint(csr_array(rows), -np.inf, np.zeros(self.groups))

    def _limits(self, changes: int, without: frozenset[Limit]) -> list[LinearConstraint]:
        rooms = [room for room in _rooms(self.table) if room.limit not in without]
        rooms.append(_Room(Limit(LimitKind.CHANGES), self.new, changes))
        none = np.zeros(self.groups)
        return [
            LinearConstraint(np.concatenate([room.takes, none])[None, :], -np.inf, room.there_is)
            for room in rooms
        ]


def _rooms(table: Table) -> list[_Room]:
    rooms = []
    for area in table.areas:
        if area.space_m2 is not None:
            takes = [s.space_m2 * (a.code == area.code) for a, s in table.slots]
            limit = Limit(LimitKind.SPACE, area.code)
            rooms.append(_Room(limit, np.array(takes, dtype=np.float64), area.space_m2))
    for kind in sorted(table.floor.equipment):
        takes = [sum(n for name, n in s.equipment if name == kind) for _, s in table.slots]
        limit = Limit(LimitKind.EQUIPMENT, kind)
        pieces = np.array(takes, dtype=np.float64)
        rooms.append(_Room(limit, pieces, table.floor.equipment[kind]))
    return rooms


def _misplaced(table: Table, slot: int) -> bool:
    area, station = table.slots[slot]
    return station.small_area and not area.small
