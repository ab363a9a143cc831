"""Children who cycle round loops, simulated turn by turn: the other way to find how long they wait.

Every child takes the stations of its loop in order, walks, stands in line, first come first
served, and takes a turn. Turn times are gamma with a chosen coefficient of variation.
"""

from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

import numpy as np


@dataclass(frozen=True)
class Route:
    """``stations`` visited in order, ``seconds`` of a turn at each, ``walk`` before each."""

    stations: tuple[int, ...]
    seconds: tuple[float, ...]
    children: int
    walk: float = 0.0


@dataclass(frozen=True)
class Seen:
    """``wait``: mean seconds in line by (route, place on it); ``round_seconds`` by route."""

    wait: dict[tuple[int, int], float]
    round_seconds: tuple[float, ...]


def simulate(
    routes: Sequence[Route], lanes: Sequence[int], spread: float, turns: int, seed: int
) -> Seen:
    """Let the children go round for ``turns`` turns in all; the first tenth is not counted.

    ``spread``: coefficient of variation of a turn: 0 all alike, 1 exponential.
    """
    floor = _Floor(routes, lanes, _turns_drawn(spread, np.random.default_rng(seed)))
    for _ in range(turns // 10):
        floor.step()
    floor.forget()
    for _ in range(turns - turns // 10):
        floor.step()
    return floor.seen()


def _turns_drawn(spread: float, dice: np.random.Generator) -> Callable[[], float]:
    """Turn times of mean 1, drawn many at a time."""
    if spread == 0:
        return lambda: 1.0
    shape = 1 / spread**2
    ready: list[float] = []

    def draw() -> float:
        if not ready:
            ready.extend(dice.gamma(shape, 1 / shape, 4096).tolist())
        return ready.pop()

    return draw


class _Floor:
    """Events are (time, number, child, what): a child comes to a line, or ends a turn."""

    def __init__(
        self, routes: Sequence[Route], lanes: Sequence[int], draw: Callable[[], float]
    ) -> None:
        self.routes, self.draw = routes, draw
        self.route_of = [at for at, route in enumerate(routes) for _ in range(route.children)]
        self.place = [-1] * len(self.route_of)
        self.came = [0.0] * len(self.route_of)
        self.free = list(lanes)
        self.lines: list[deque[int]] = [deque() for _ in lanes]
        self.events: list[tuple[float, int, int, bool]] = []
        self.number, self.now = 0, 0.0
        self.forget()
        for child in range(len(self.route_of)):
            self._walk(child)

    def forget(self) -> None:
        self.since = self.now
        self.waited: dict[tuple[int, int], float] = {}
        self.taken: dict[tuple[int, int], int] = {}

    def seen(self) -> Seen:
        lasted = self.now - self.since
        return Seen(
            {key: waited / self.taken[key] for key, waited in self.waited.items()},
            tuple(
                lasted * route.children / self.taken[at, 0] for at, route in enumerate(self.routes)
            ),
        )

    def step(self) -> None:
        """Go on until one more turn has ended."""
        while True:
            self.now, _, child, ends = heappop(self.events)
            station = self._station(child)
            if not ends:
                self.came[child] = self.now
                self.lines[station].append(child)
                self._start(station)
                continue
            self.free[station] += 1
            self._start(station)
            self._walk(child)
            return

    def _station(self, child: int) -> int:
        return self.routes[self.route_of[child]].stations[self.place[child]]

    def _plan(self, seconds: float, child: int, ends: bool) -> None:
        self.number += 1
        heappush(self.events, (self.now + seconds, self.number, child, ends))

    def _walk(self, child: int) -> None:
        route = self.routes[self.route_of[child]]
        self.place[child] = (self.place[child] + 1) % len(route.stations)
        self._plan(route.walk, child, ends=False)

    def _start(self, station: int) -> None:
        while self.free[station] and self.lines[station]:
            child = self.lines[station].popleft()
            self.free[station] -= 1
            at = self.route_of[child]
            key = (at, self.place[child])
            self.waited[key] = self.waited.get(key, 0.0) + self.now - self.came[child]
            self.taken[key] = self.taken.get(key, 0) + 1
            self._plan(self.routes[at].seconds[self.place[child]] * self.draw(), child, ends=True)
