"""Give layered stations their places, and lead lines between them that run through no card.

Two directions are used: *along* is the way the loops run (down a phone, across a laptop), *across*
is at right angles to it. A layer is a band along; lines cross bands only in lanes of their own.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from progress.pages.shared.loop_layers import Chain, Web

Point = tuple[float, float]  # (along, across)
CARD_GAP, CARD_TO_LANE, LANE_TO_LANE = 14.0, 13.0, 12.0
PORT_SPACE, PORT_MARGIN = 15.0, 12.0
ROUNDS = 16


@dataclass(frozen=True)
class Box:
    """Where a node stands: its ends along, its middle across and half its breadth."""

    begin: float
    end: float
    middle: float
    half: float


@dataclass(frozen=True)
class Line:
    """A way as drawn: points, three for each curve ("C") and one for a stroke ("M", "L").

    ``forward`` says whether the line comes to its end running along (True) or against.
    """

    chain: Chain
    parts: tuple[tuple[str, tuple[Point, ...]], ...]
    forward: bool

    @property
    def tip(self) -> Point:
        """Where the line ends."""
        return self.parts[-1][1][-1]


def gap_between(web: Web, one: int, two: int) -> float:
    """Least space between the borders of two neighbours in a layer."""
    lanes = web.is_lane(one) + web.is_lane(two)
    return (CARD_GAP, CARD_TO_LANE, LANE_TO_LANE)[lanes]


def breadth_needed(web: Web, halves: Mapping[int, float]) -> float:
    """The breadth of the fullest layer."""
    return max((_row_breadth(web, row, halves) for row in web.layers), default=0.0)


def spread(web: Web, halves: Mapping[int, float], breadth: float) -> dict[int, float]:
    """The middle of every node across, within 0 and ``breadth``: near what it is joined to."""
    near = _neighbours(web)
    middle: dict[int, float] = {}
    for row in web.layers:
        at = (breadth - _row_breadth(web, row, halves)) / 2
        for place, node in enumerate(row):
            at += gap_between(web, row[place - 1], node) if place else 0.0
            middle[node] = at + halves[node]
            at += 2 * halves[node]
    for turn in range(ROUNDS):
        for row in web.layers if turn % 2 == 0 else reversed(web.layers):
            wishes, weights = [], []
            for node in row:
                pulls = near.get(node, [])
                weight = sum(pull for _, pull in pulls)
                drawn = sum(middle[other] * pull for other, pull in pulls)
                wishes.append(drawn / weight if weight else middle[node])
                weights.append(weight or 1.0)
            gaps = [
                halves[one] + gap_between(web, one, two) + halves[two] for one, two in pairwise(row)
            ]
            low, high = halves[row[0]], breadth - halves[row[-1]]
            middle.update(zip(row, settle(wishes, weights, gaps, low, high), strict=True))
    for chain in web.chains:
        _straighten(web, chain, halves, breadth, middle)
    return middle


def settle(
    wishes: Sequence[float],
    weights: Sequence[float],
    gaps: Sequence[float],
    low: float,
    high: float,
) -> list[float]:
    """Places in order, at least ``gaps`` apart and within bounds, nearest to the wishes.

    Weighted least squares by pooling neighbours that would come too close.
    """
    offsets = [0.0]
    for gap in gaps:
        offsets.append(offsets[-1] + gap)
    blocks: list[list[float]] = []  # mean, weight, members
    for wish, weight, offset in zip(wishes, weights, offsets, strict=True):
        blocks.append([wish - offset, weight, 1])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            mean, heavy, members = blocks.pop()
            last = blocks[-1]
            last[0] = (last[0] * last[1] + mean * heavy) / (last[1] + heavy)
            last[1] += heavy
            last[2] += members
    level = [mean for mean, _, members in blocks for _ in range(int(members))]
    top = max(high - offsets[-1], low)
    return [
        min(max(value, low), top) + offset for value, offset in zip(level, offsets, strict=True)
    ]


def lead(web: Web, boxes: Mapping[int, Box], bands: Sequence[tuple[float, float]]) -> list[Line]:
    """A line for every chain, from card to card; ``bands`` are the ends of each layer along."""
    ports = _ports(web, boxes)
    return [_line(web, boxes, bands, ports, number) for number in range(len(web.chains))]


def _row_breadth(web: Web, row: Sequence[int], halves: Mapping[int, float]) -> float:
    gaps = sum(gap_between(web, one, two) for one, two in pairwise(row))
    return gaps + sum(2 * halves[node] for node in row)


def _neighbours(web: Web) -> dict[int, list[tuple[int, float]]]:
    """What pulls each node, and how hard: lanes want to be straight, ways back pull least."""
    near: dict[int, list[tuple[int, float]]] = {}
    for chain in web.chains:
        for one, two in zip(chain.nodes, chain.nodes[1:], strict=False):
            both = web.is_lane(one) + web.is_lane(two)
            pull = (2.0, 1.0, 4.0)[both]
            for here, there in ((one, two), (two, one)):
                if chain.back and not web.is_lane(here):
                    continue
                near.setdefault(here, []).append((there, pull))
    return near


def _straighten(
    web: Web,
    chain: Chain,
    halves: Mapping[int, float],
    breadth: float,
    middle: dict[int, float],
) -> None:
    """Put runs of a chain's lanes on one straight line, as long as their neighbours leave room."""
    run: list[int] = []
    low, high = 0.0, breadth
    for lane in [*chain.nodes[1:-1], None]:
        if lane is not None:
            least, most = _room(web, lane, halves, breadth, middle)
            if max(low, least) <= min(high, most):
                run.append(lane)
                low, high = max(low, least), min(high, most)
                continue
        if run:
            wish = sum(middle[node] for node in run) / len(run)
            middle.update(dict.fromkeys(run, min(max(wish, low), high)))
        if lane is not None:
            run, low, high = [lane], least, most


def _room(
    web: Web, lane: int, halves: Mapping[int, float], breadth: float, middle: Mapping[int, float]
) -> tuple[float, float]:
    row = web.layers[web.layer_of[lane]]
    place = row.index(lane)
    least, most = 0.0, breadth
    if place:
        other = row[place - 1]
        least = middle[other] + halves[other] + gap_between(web, other, lane)
    if place < len(row) - 1:
        other = row[place + 1]
        most = middle[other] - halves[other] - gap_between(web, lane, other)
    return min(least, middle[lane]), max(most, middle[lane])


def _leaves_at_end(web: Web, chain: Chain) -> bool:
    """Whether the line leaves its first card at the card's end along."""
    first, second = web.layer_of[chain.nodes[0]], web.layer_of[chain.nodes[1]]
    return second >= first


def _enters_at_begin(web: Web, chain: Chain) -> bool:
    """Whether the line reaches its last card at the card's beginning."""
    before, last = web.layer_of[chain.nodes[-2]], web.layer_of[chain.nodes[-1]]
    return before <= last


def _ports(web: Web, boxes: Mapping[int, Box]) -> dict[tuple[int, bool], float]:
    """Where across each chain meets its first (True) and last (False) card."""
    sides: dict[tuple[int, bool], list[tuple[float, int, bool]]] = {}
    for number, chain in enumerate(web.chains):
        first, last = chain.nodes[0], chain.nodes[-1]
        ends = (
            (first, chain.nodes[1], _leaves_at_end(web, chain), True),
            (last, chain.nodes[-2], not _enters_at_begin(web, chain), False),
        )
        for card, other, at_end, leaving in ends:
            sides.setdefault((card, at_end), []).append((boxes[other].middle, number, leaving))
    found = {}
    for (card, _), ends_here in sides.items():
        box = boxes[card]
        order = sorted(ends_here)
        space = min(PORT_SPACE, 2 * (box.half - PORT_MARGIN) / max(len(order) - 1, 1))
        wishes = []
        for _, number, leaving in order:
            nodes = web.chains[number].nodes
            wishes.append(_port_wish(box, boxes[nodes[1] if leaving else nodes[-2]]))
        places = settle(
            wishes,
            [1.0] * len(order),
            [space] * (len(order) - 1),
            box.middle - box.half + PORT_MARGIN,
            box.middle + box.half - PORT_MARGIN,
        )
        for (_, number, leaving), place in zip(order, places, strict=True):
            found[number, leaving] = place
    return found


def _port_wish(card: Box, other: Box) -> float:
    """Where the line would run straight: the middle of what the two have in common across."""
    low = max(card.middle - card.half, other.middle - other.half)
    high = min(card.middle + card.half, other.middle + other.half)
    if low <= high:
        return (low + high) / 2
    # Nothing in common: lean towards the other, less far for a card than for a lane.
    lean = (other.middle - card.middle) * (0.35 if other.half else 1.0)
    return card.middle + min(max(lean, -card.half), card.half)


def _line(
    web: Web,
    boxes: Mapping[int, Box],
    bands: Sequence[tuple[float, float]],
    ports: Mapping[tuple[int, bool], float],
    number: int,
) -> Line:
    chain = web.chains[number]
    nodes = chain.nodes
    across = [
        ports[number, True],
        *(boxes[lane].middle for lane in nodes[1:-1]),
        ports[number, False],
    ]
    layers = [web.layer_of[node] for node in nodes]
    out, into = _leaves_at_end(web, chain), _enters_at_begin(web, chain)
    first, last = boxes[nodes[0]], boxes[nodes[-1]]
    parts: list[tuple[str, tuple[Point, ...]]] = [
        ("M", ((first.end if out else first.begin, across[0]),)),
        ("L", ((bands[layers[0]][1 if out else 0], across[0]),)),
    ]
    for place in range(len(nodes) - 1):
        here, there = layers[place], layers[place + 1]
        down = here < there
        if here == there:
            edge = bands[here][1 if place == 0 else 0]
            parts.append(_turn(bands, here, edge, across[place], across[place + 1]))
            leave_down = place == len(nodes) - 2
        else:
            begin, end = bands[here][1 if down else 0], bands[there][0 if down else 1]
            parts.append(_bend(begin, end, across[place], across[place + 1]))
            leave_down = down
        if place < len(nodes) - 2:
            onward = layers[place + 2] > there if layers[place + 2] != there else False
            parts.append(("L", ((bands[there][1 if onward else 0], across[place + 1]),)))
    parts.append(("L", ((last.begin if into else last.end, across[-1]),)))
    return Line(chain, tuple(parts), forward=leave_down)


def _bend(begin: float, end: float, here: float, there: float) -> tuple[str, tuple[Point, ...]]:
    if abs(here - there) < 0.01:
        return ("L", ((end, there),))
    half = (begin + end) / 2
    return ("C", ((half, here), (half, there), (end, there)))


def _turn(
    bands: Sequence[tuple[float, float]], layer: int, edge: float, here: float, there: float
) -> tuple[str, tuple[Point, ...]]:
    """Turn round below or above a band; a cubic reaches three quarters of its handles."""
    below = edge == bands[layer][1]
    deep = min(26.0, 10.0 + 0.25 * abs(here - there))
    handle = edge + deep if below else edge - deep
    return ("C", ((handle, here), (handle, there), (edge, there)))
