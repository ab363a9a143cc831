"""Exact mean values of a closed queueing network with several classes and several lanes.

The network is the one of mean value analysis (Reiser & Lavenberg 1980, JACM 27:313-322), and the
answers are the same numbers. They are worked out by convolution instead (Buzen 1973, CACM
16:527-531), because with several lanes that recursion takes the chance of an empty station as one
minus a sum, which loses digits: harmless for 30 children on 4 lanes (1e-13), not for 60 on 8
(2%). Nothing is subtracted here, and several lanes cost little more than one.

How: write G for the polynomial whose coefficient at n = (n1, n2, ...) is the normalising constant
with n_c children of class c. With L = sum of D_c x_c over the classes c, D_c being the seconds of
turns a round at a station of m lanes, that station multiplies G by

    phi(L) = sum over i < m of L^i / i!  +  L^m / m! / (1 - L / m),

and being away (walking) multiplies it by exp(sum of Z_c x_c). Rounds a second are
G(N - e_c) / G(N), and seconds in line are D_c times the coefficient at N - e_c of
G without the station times phi'(L) - phi(L) = L^m / (m! m) / (1 - L / m)^2, over G(N - e_c).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.outcomes import Floats

MOST_CELLS = 200_000  # states of the population an answer may need: seconds of work


class TooManyStates(ValueError):
    """Too many classes and children share stations for an exact answer."""


@dataclass(frozen=True)
class MeanValues:
    """``rounds``: rounds a second by class, all its children together, shape (classes,).

    ``line``: seconds in line at each station in a round, shape (classes, stations).
    """

    rounds: Floats
    line: Floats


@dataclass(frozen=True)
class _Station:
    """``share``: seconds of turns a round by class, as a part of that class's whole round alone."""

    at: int
    share: Floats
    lanes: int


def mean_values(
    turns: Floats, lanes: Sequence[int], children: Sequence[int], away: Floats
) -> MeanValues:
    """Solve the network.

    ``turns``: seconds of turns in a round, shape (classes, stations), 0 where a class does not
    come. ``lanes``: at least 1 each. ``children``: by class, at least 1. ``away``: seconds of a
    round at no station, shape (classes,). Exact for exponential turns with the same mean for all
    classes of a station, or, where means differ, for lanes whose time is shared evenly. Raises
    ``TooManyStates`` where the product of (children + 1) over the classes passes ``MOST_CELLS``.
    """
    shape = tuple(count + 1 for count in children)
    cells = int(np.prod(shape, dtype=float))
    if cells > MOST_CELLS:
        raise TooManyStates(f"{cells} ways to spread the children are too many to work out")
    alone = away + turns.sum(axis=1)
    stations = [
        _Station(at, turns[:, at] / alone, many)
        for at, many in enumerate(lanes)
        if turns[:, at].any()
    ]
    start = _away(away / alone, shape)
    whole = _through(start, stations)
    if not whole[(-1,) * len(shape)] > 0:
        raise TooManyStates("so many children that the constants are below the smallest number")
    before = np.array([_one_fewer(whole, axis) for axis in range(len(shape))])
    line = np.zeros_like(turns)
    for station, others in _without_each(start, stations):
        waiting = _in_line(others, station)
        behind = np.array([_one_fewer(waiting, axis) for axis in range(len(shape))])
        line[:, station.at] = turns[:, station.at] * behind / before
    return MeanValues(before / whole[(-1,) * len(shape)] / alone, line)


def _one_fewer(grid: Floats, axis: int) -> float:
    """The coefficient with everybody there but one child of this class."""
    at = [-1] * grid.ndim
    at[axis] = -2
    return float(grid[tuple(at)])


def _away(share: Floats, shape: Sequence[int]) -> Floats:
    """exp(sum of share_c x_c) up to the powers of the grid."""
    grid = np.ones(())
    for part, size in zip(share, shape, strict=True):
        steps = np.concatenate([[1.0], part / np.arange(1, size)])
        grid = np.multiply.outer(grid, np.cumprod(steps))
    return grid


def _times(grid: Floats, share: Floats) -> Floats:
    """The grid times L = sum of share_c x_c."""
    product = np.zeros_like(grid)
    for axis, part in enumerate(share):
        if part > 0:
            to, since = np.moveaxis(product, axis, 0), np.moveaxis(grid, axis, 0)
            to[1:] += part * since[:-1]
    return product


def _most(grid: Floats, share: Floats) -> int:
    """Most children who can be at a station: the highest power of L that counts."""
    return sum(size - 1 for size, part in zip(grid.shape, share, strict=True) if part > 0)


def _over_one_less(grid: Floats, share: Floats) -> Floats:
    """The grid divided by 1 - L, as grid (1 + L + L^2 + ...)."""
    total, term = grid.copy(), grid
    for _ in range(_most(grid, share)):
        term = _times(term, share)
        total += term
    return total


def _through(grid: Floats, stations: Sequence[_Station]) -> Floats:
    """The grid times phi(L) of each station."""
    for station in stations:
        lanes = min(station.lanes, _most(grid, station.share) + 1)
        total, term = grid.copy(), grid
        for power in range(1, lanes):
            term = _times(term, station.share) / power
            total += term
        term = _times(term, station.share) / lanes
        grid = total + _over_one_less(term, station.share / lanes)
    return grid


def _in_line(grid: Floats, station: _Station) -> Floats:
    """The grid times L^m / (m! m) / (1 - L / m)^2."""
    lanes = min(station.lanes, _most(grid, station.share) + 1)
    for power in range(1, lanes + 1):
        grid = _times(grid, station.share) / power
    each = station.share / lanes
    return _over_one_less(_over_one_less(grid / lanes, each), each)


def _without_each(grid: Floats, stations: Sequence[_Station]) -> Iterator[tuple[_Station, Floats]]:
    """Each station with the grid times all the others, halving the list to share the work."""
    if len(stations) <= 1:
        yield from ((station, grid) for station in stations)
        return
    first, rest = stations[: len(stations) // 2], stations[len(stations) // 2 :]
    yield from _without_each(_through(grid, rest), first)
    yield from _without_each(_through(grid, first), rest)
