"""Share children out over variants and loops as an assignment problem (scipy's HiGHS solver)."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linear_sum_assignment, milp
from scipy.sparse import csr_array

from progress.engine.outcomes import Floats

TURNED_AWAY = 100.0  # cost of sending nobody anywhere: more than any distance from the target


@dataclass(frozen=True)
class Option:
    """One athlete could take one variant at one station at this cost."""

    row: int
    station: str
    code: str
    cost: float
    spotter: bool = False


@dataclass(frozen=True)
class Pick:
    """What the plan says; ``code`` is None where every option is full.

    ``moved``: limits kept the athlete from the cheapest option. ``no_spotter``: nobody at this
    station was given a variant that wants a spotter.
    """

    code: str | None
    moved: bool
    no_spotter: bool = field(default=False, compare=False)


def assign(
    options: Sequence[Option],
    places: Mapping[tuple[str, str], int],
    spotters: int | None = None,
) -> dict[tuple[int, str], Pick]:
    """Pick one option for each (row, station) at the least total cost within the limits.

    ``places``: most athletes on a (station, variant); missing means no limit. ``spotters``: most
    stations where any picked variant wants a spotter. Ties go to the option named first.
    """
    cheapest = _cheapest(options)
    if _within(cheapest.values(), places, spotters):
        return {key: Pick(option.code, moved=False) for key, option in cheapest.items()}
    picked = _solve(options, list(cheapest), places, spotters)
    spotted = {option.station for option in picked.values() if option.spotter}
    return {
        key: Pick(
            picked[key].code if key in picked else None,
            moved=key not in picked or picked[key].cost > cheapest[key].cost + 1e-9,
            no_spotter=key[1] not in spotted,
        )
        for key in cheapest
    }


def share_out(costs: Floats, taken: Sequence[int] | None = None) -> list[int]:
    """Give each athlete (row) one loop (column): sizes differ by at most one, least total cost.

    ``taken`` has for each loop the athletes already on it; the sizes count them. Where they alone
    make a loop too large, nobody is added to it.
    """
    athletes, loops = costs.shape
    if loops == 0 or athletes == 0:
        return []
    there = np.zeros(loops, dtype=np.int64) if taken is None else np.asarray(taken)
    even = (athletes + int(there.sum())) // loops
    # Beyond an even share every loop has one seat more, dear enough to be the last resort.
    seats = [(loop, 0.0) for loop in range(loops) for _ in range(even - there[loop])]
    seats += [(loop, 1e3) for loop in range(loops) if there[loop] <= even]
    at = np.array([loop for loop, _ in seats])
    full = costs[:, at] + np.array([dear for _, dear in seats])
    _, seat = linear_sum_assignment(full)
    return [int(at[place]) for place in seat]


def _cheapest(options: Sequence[Option]) -> dict[tuple[int, str], Option]:
    best: dict[tuple[int, str], Option] = {}
    for option in options:
        key = (option.row, option.station)
        if key not in best or option.cost < best[key].cost:
            best[key] = option
    return best


def _within(
    picked: Iterable[Option],
    places: Mapping[tuple[str, str], int],
    spotters: int | None,
) -> bool:
    used: dict[tuple[str, str], int] = {}
    spotted: set[str] = set()
    for option in picked:
        key = (option.station, option.code)
        used[key] = used.get(key, 0) + 1
        if option.spotter:
            spotted.add(option.station)
    full = any(count > places.get(key, count) for key, count in used.items())
    return not full and (spotters is None or len(spotted) <= spotters)


def _solve(
    options: Sequence[Option],
    keys: Sequence[tuple[int, str]],
    places: Mapping[tuple[str, str], int],
    spotters: int | None,
) -> dict[tuple[int, str], Option]:
    """Binary programme: one variable an option, one an athlete-station turned away, one a spot."""
    spots = sorted({option.station for option in options if option.spotter})
    count, away = len(options), len(keys)
    # A sliver for the order makes the optimum unique, so two runs give the same plan.
    wanted = np.array([option.cost for option in options]) + np.arange(count) * 1e-9
    cost = np.concatenate([wanted, np.full(away, TURNED_AWAY), np.zeros(len(spots))])
    limits = _Rows(len(cost))
    _one_each(limits, options, keys)
    _within_places(limits, options, places)
    if spotters is not None:
        at = {station: count + away + number for number, station in enumerate(spots)}
        _within_spotters(limits, options, at, spotters)
    answer = milp(
        cost,
        integrality=np.ones(len(cost)),
        bounds=Bounds(0, 1),
        constraints=limits.all,
        options={"mip_rel_gap": 0.0},
    )
    if answer.x is None:
        raise RuntimeError(f"the solver gave no plan: {answer.message}")
    return {
        (option.row, option.station): option
        for option, taken in zip(options, answer.x[:count] > 0.5, strict=True)
        if taken
    }


def _one_each(limits: "_Rows", options: Sequence[Option], keys: Sequence[tuple[int, str]]) -> None:
    """Every athlete gets one option at every station, or is turned away there."""
    place_of = {key: number for number, key in enumerate(keys)}
    for number in range(len(keys)):
        limits.add([len(options) + number], [1.0], 1.0, 1.0)
    for number, option in enumerate(options):
        limits.extend(place_of[option.row, option.station], number, 1.0)


def _within_places(
    limits: "_Rows", options: Sequence[Option], places: Mapping[tuple[str, str], int]
) -> None:
    """No variant gets more athletes than it has places."""
    for place, most in sorted(places.items()):
        mine = [n for n, option in enumerate(options) if (option.station, option.code) == place]
        if len(mine) > most:
            limits.add(mine, [1.0] * len(mine), -np.inf, float(most))


def _within_spotters(
    limits: "_Rows", options: Sequence[Option], at: Mapping[str, int], spotters: int
) -> None:
    """A picked variant that wants a spotter takes one to its station; there are only so many."""
    for number, option in enumerate(options):
        if option.spotter:
            limits.add([number, at[option.station]], [1.0, -1.0], -np.inf, 0.0)
    limits.add(list(at.values()), [1.0] * len(at), -np.inf, float(spotters))


class _Rows:
    """Linear limits collected row by row into one sparse matrix."""

    def __init__(self, width: int) -> None:
        self.width = width
        self.entries: list[tuple[int, int, float]] = []
        self.lower: list[float] = []
        self.upper: list[float] = []

    def add(self, at: list[int], weights: list[float], lower: float, upper: float) -> None:
        row = len(self.lower)
        self.lower.append(lower)
        self.upper.append(upper)
        self.entries.extend(
            (row, column, weight) for column, weight in zip(at, weights, strict=True)
        )

    def extend(self, row: int, column: int, weight: float) -> None:
        self.entries.append((row, column, weight))

    @property
    def all(self) -> LinearConstraint:
        rows, columns, weights = zip(*self.entries, strict=True)
        matrix = csr_array((weights, (rows, columns)), shape=(len(self.lower), self.width))
        return LinearConstraint(matrix, self.lower, self.upper)
