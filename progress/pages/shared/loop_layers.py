"""Put the stations of a floor in layers, so that loops run mostly one way.

A node is a number: first the stations, then the starts of loops (one a loop), then lanes, the
places where a line passes a layer without stopping. Nothing here knows of sizes or screens.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

Routes = Sequence[Sequence[int]]
SWEEPS = 8


@dataclass(frozen=True)
class Chain:
    """One way from a node to the next card: the two cards with the lanes between, as travelled.

    Neighbours in a chain lie in adjoining layers; the same layer means that the line turns round,
    which only a way back to the start (``back``) does at its ends.
    """

    loop: int
    nodes: tuple[int, ...]
    back: bool = False


@dataclass(frozen=True)
class Web:
    """Nodes in layers, each layer in its order across, and the chains through them."""

    stations: int
    loops: int
    layers: tuple[tuple[int, ...], ...]
    layer_of: Mapping[int, int]
    chains: tuple[Chain, ...]

    def is_lane(self, node: int) -> bool:
        """Whether lines only pass here."""
        return node >= self.stations + self.loops

    def is_start(self, node: int) -> bool:
        """Whether a loop's name stands here."""
        return self.stations <= node < self.stations + self.loops


def weave(stations: int, routes: Routes, most_cards: int) -> Web:
    """Layer the floor: every loop runs down the layers, but for what another loop forbids.

    ``routes`` are the loops' stations as numbers below ``stations``, in order. ``most_cards`` is
    how many cards a layer may hold, 1 or more. The same input always gives the same web.
    """
    layer_of = _rank(stations, routes, most_cards)
    chains = _chains(stations, routes, layer_of)
    leaning = _leanings(stations, routes, chains)
    rows: list[list[int]] = [[] for _ in range(max(layer_of.values(), default=-1) + 1)]
    for node in sorted(layer_of, key=lambda node: (leaning[node], node)):
        rows[layer_of[node]].append(node)
    layers = tuple(tuple(row) for row in _Order(rows, layer_of, chains).settled())
    return Web(stations, len(routes), layers, layer_of, tuple(chains))


def _kept_steps(routes: Routes) -> list[tuple[int, int]]:
    """Steps from station to station that can all point one way.

    Steps more loops take come first; a step that would close a ring is left out.
    """
    counted = Counter(
        (here, there) for route in routes for here, there in pairwise(route) if here != there
    )
    after: dict[int, set[int]] = {}
    kept = []
    for (here, there), _ in counted.most_common():
        if not _reaches(after, there, here):
            after.setdefault(here, set()).add(there)
            kept.append((here, there))
    return kept


def _reaches(after: Mapping[int, set[int]], start: int, goal: int) -> bool:
    seen, ahead = {start}, [start]
    while ahead:
        node = ahead.pop()
        if node == goal:
            return True
        fresh = after.get(node, set()) - seen
        seen |= fresh
        ahead.extend(fresh)
    return False


def _rank(stations: int, routes: Routes, most_cards: int) -> dict[int, int]:
    """The layer of every station and start, from 0: the longest way to it, where there is room."""
    before: dict[int, list[int]] = {}
    for here, there in _kept_steps(routes):
        before.setdefault(there, []).append(here)
    depth: dict[int, int] = {}

    def depth_of(node: int) -> int:
        if node not in depth:
            depth[node] = 1 + max((depth_of(one) for one in before.get(node, [])), default=-1)
        return depth[node]

    met = list(dict.fromkeys(node for route in routes for node in route))
    met += [node for node in range(stations) if node not in set(met)]
    place = {node: number for number, node in enumerate(met)}
    room: Counter[int] = Counter()
    layer_of: dict[int, int] = {}
    for node in sorted(met, key=lambda node: (depth_of(node), place[node])):
        layer = 1 + max((layer_of[one] for one in before.get(node, [])), default=-1)
        while room[layer] >= most_cards:
            layer += 1
        layer_of[node] = layer
        room[layer] += 1
    for number, route in enumerate(routes):
        layer = layer_of[route[0]] - 1
        while room[layer] >= most_cards:
            layer -= 1
        layer_of[stations + number] = layer
        room[layer] += 1
    top = min(layer_of.values(), default=0)
    return {node: layer - top for node, layer in layer_of.items()}


def _chains(stations: int, routes: Routes, layer_of: dict[int, int]) -> list[Chain]:
    """Every step of every loop, with lanes where it passes layers; ``layer_of`` gains the lanes."""
    chains = []
    for number, route in enumerate(routes):
        start = stations + number
        stops = [start, *route]
        for here, there in pairwise(stops):
            if here != there:
                nodes = _through(here, there, layer_of, back=False)
                chains.append(Chain(number, nodes))
        if route[-1] != route[0]:
            nodes = _through(route[-1], start, layer_of, back=True)
            chains.append(Chain(number, nodes, back=True))
    return chains


def _through(here: int, there: int, layer_of: dict[int, int], *, back: bool) -> tuple[int, ...]:
    """Add a lane in every layer between; a way back up also passes the layers of both ends."""
    first, last = layer_of[here], layer_of[there]
    step = 1 if last > first else -1
    turns = back and step < 0
    passed = range(first, last - 1, -1) if turns else range(first + step, last, step)
    lanes = []
    for layer in passed:
        lane = len(layer_of)
        layer_of[lane] = layer
        lanes.append(lane)
    return (here, *lanes, there)


def _leanings(stations: int, routes: Routes, chains: Sequence[Chain]) -> dict[int, float]:
    """Where a node would lie if loops lay side by side in their order: the first guess."""
    loops: dict[int, list[float]] = {node: [] for node in range(stations)}
    for chain in chains:
        for node in chain.nodes:
            loops.setdefault(node, []).append(chain.loop + (0.4 if chain.back else 0.0))
    for number, route in enumerate(routes):
        loops.setdefault(stations + number, []).append(number)
        loops[route[0]].append(number)
    return {
        node: sum(found) / len(found) if found else float(len(routes))
        for node, found in loops.items()
    }


class _Order:
    """Cross as few lines as can be found: sweeps by barycentre, then swaps of neighbours."""

    def __init__(
        self, rows: list[list[int]], layer_of: Mapping[int, int], chains: Sequence[Chain]
    ) -> None:
        self.rows = rows
        self.down: list[list[tuple[int, int]]] = [[] for _ in rows]
        self.level: list[list[tuple[int, int]]] = [[] for _ in rows]
        for chain in chains:
            for one, two in zip(chain.nodes, chain.nodes[1:], strict=False):
                upper, lower = sorted((one, two), key=lambda node: layer_of[node])
                same = layer_of[one] == layer_of[two]
                (self.level if same else self.down)[layer_of[upper]].append((upper, lower))

    def settled(self) -> list[list[int]]:
        """The rows in the best order found."""
        best, least = [list(row) for row in self.rows], self._crossings()
        for sweep in range(SWEEPS):
            self._sweep(downwards=sweep % 2 == 0)
            crossings = self._crossings()
            if crossings < least:
                best, least = [list(row) for row in self.rows], crossings
        self.rows = best
        while self._swap_neighbours():
            pass
        return self.rows

    def _sweep(self, *, downwards: bool) -> None:
        order = range(len(self.rows)) if downwards else reversed(range(len(self.rows)))
        for layer in order:
            other = layer - 1 if downwards else layer + 1
            if not 0 <= other < len(self.rows):
                continue
            at = {node: place for place, node in enumerate(self.rows[other])}
            near: dict[int, list[int]] = {}
            for upper, lower in self.down[min(layer, other)]:
                here, there = (lower, upper) if downwards else (upper, lower)
                near.setdefault(here, []).append(at[there])
            row = self.rows[layer]
            wish = {
                node: sum(near[node]) / len(near[node]) if node in near else float(place)
                for place, node in enumerate(row)
            }
            row.sort(key=wish.__getitem__)

    def _crossings(self) -> int:
        return sum(self._crossings_at(layer) for layer in range(len(self.rows)))

    def _crossings_at(self, layer: int) -> int:
        """Crossings below this layer, and what the turns in it jump over."""
        here = {node: place for place, node in enumerate(self.rows[layer])}
        jumped = sum(abs(here[one] - here[two]) - 1 for one, two in self.level[layer])
        if not self.down[layer]:
            return jumped
        below = {node: place for place, node in enumerate(self.rows[layer + 1])}
        lines = sorted((here[upper], below[lower]) for upper, lower in self.down[layer])
        ends = [end for _, end in lines]
        starts = [start for start, _ in lines]
        return jumped + sum(
            starts[one] < starts[two] and ends[one] > ends[two]
            for one in range(len(lines))
            for two in range(one + 1, len(lines))
        )

    def _swap_neighbours(self) -> bool:
        """Swap any two neighbours where that crosses fewer lines; whether any were swapped."""
        swapped = False
        for layer, row in enumerate(self.rows):
            for place in range(len(row) - 1):
                least = self._around(layer)
                row[place], row[place + 1] = row[place + 1], row[place]
                if self._around(layer) < least:
                    swapped = True
                else:
                    row[place], row[place + 1] = row[place + 1], row[place]
        return swapped

    def _around(self, layer: int) -> int:
        return self._crossings_at(layer) + (self._crossings_at(layer - 1) if layer else 0)
