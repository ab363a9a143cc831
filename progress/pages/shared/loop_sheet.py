"""Fit a floor to a sheet: how many cards side by side, how wide they are, where each one stands."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from progress.pages.shared.loop_layers import Routes, Web, weave
from progress.pages.shared.loop_paths import Box, breadth_needed, gap_between, spread

MARGIN = 3.0
TURN_ROOM = 22.0  # what a line needs to turn round outside the first and the last layer

Size = tuple[float, float]  # (width, height)


class Orientation(StrEnum):
    """Which way the loops run."""

    TALL = "tall"
    WIDE = "wide"


@dataclass(frozen=True)
class Sheet:
    """What an orientation allows, in units of the drawing.

    ``room`` is the width of the screen it is meant for; ``cards`` and ``channels`` are the least
    and the most that a card is wide and that the space between two layers is deep; ``start`` is
    the most that a loop's name takes. ``most_cards`` is how many stand in a layer, and
    ``step_lines`` how many lines the names of a station's steps may take.
    """

    room: float
    cards: tuple[float, float]
    channels: tuple[float, float]
    start: float
    most_cards: int
    step_lines: int


SHEETS = {
    # A phone of 390 pixels, less the page's edges.
    Orientation.TALL: Sheet(358.0, (80.0, 190.0), (40.0, 40.0), 190.0, 6, 3),
    Orientation.WIDE: Sheet(1196.0, (100.0, 176.0), (32.0, 76.0), 88.0, 6, 5),
}


@dataclass(frozen=True)
class Laid:
    """Every node's box, the layers' bands and the size of the whole; along and across as drawn."""

    web: Web
    boxes: Mapping[int, Box]
    bands: Sequence[tuple[float, float]]
    width: float
    height: float

    def is_broad(self, orientation: Orientation) -> bool:
        """Whether it is wider than the screen it is meant for."""
        return self.width > SHEETS[orientation].room + 0.01


def fit_web(stations: int, routes: Routes, orientation: Orientation) -> tuple[Web, float, float]:
    """The web that fits the sheet, the width of its cards and the depth of its channels."""
    sheet = SHEETS[orientation]
    if orientation is Orientation.WIDE:
        web = weave(stations, routes, sheet.most_cards)
        return (web, *_share_length(sheet, web))
    best: tuple[Web, float] | None = None
    for most in range(sheet.most_cards, 0, -1):
        web = weave(stations, routes, most)
        width = _card_width(web, sheet.room - 2 * MARGIN)
        if best is None or width > best[1]:
            best = web, width
        if width >= sheet.cards[0]:
            break
    if best is None:
        raise ValueError("a layer must hold a card")
    web, width = best
    return web, min(max(width, sheet.cards[0]), sheet.cards[1]), sheet.channels[0]


def lay(web: Web, orientation: Orientation, size_of: Callable[[int], Size], channel: float) -> Laid:
    """Place every node; ``size_of`` gives the width and height of a card or a start."""
    tall = orientation is Orientation.TALL
    sizes = {
        node: (0.0, 0.0) if web.is_lane(node) else size_of(node) for node in sorted(web.layer_of)
    }
    along = {node: size[1] if tall else size[0] for node, size in sizes.items()}
    halves = {node: (size[0] if tall else size[1]) / 2 for node, size in sizes.items()}
    bands, length = _bands(web, along, channel)
    breadth = breadth_needed(web, halves)
    breadth = max(breadth, SHEETS[orientation].room - 2 * MARGIN) if tall else breadth * 1.2
    middles = spread(web, halves, breadth)
    low = min(middles[node] - halves[node] for node in middles)
    high = max(middles[node] + halves[node] for node in middles)
    shift = (breadth - high - low) / 2 if tall else -low
    breadth = breadth if tall else high - low
    boxes = {
        node: _box(
            web, node, bands[layer], along[node], middles[node] + shift + MARGIN, halves[node]
        )
        for node, layer in web.layer_of.items()
    }
    across = round(breadth + 2 * MARGIN, 2)
    width, height = (across, length) if tall else (length, across)
    return Laid(web, boxes, bands, width, height)


def _share_length(sheet: Sheet, web: Web) -> tuple[float, float]:
    """Card width and channel depth where all layers stand in one row."""
    full = sum(any(node < web.stations for node in row) for row in web.layers)
    room = sheet.room - 2 * (MARGIN + TURN_ROOM) - sheet.start * (len(web.layers) - full)
    between = max(len(web.layers) - 1, 1)
    (least, most), (narrow, deep) = sheet.cards, sheet.channels
    card = min(max((room - between * (narrow + deep) / 2) / max(full, 1), least), most)
    return round(card, 2), round(min(max((room - full * card) / between, narrow), deep), 2)


def _card_width(web: Web, breadth: float) -> float:
    """The widest card of which every layer can hold its own."""
    widths = [breadth]
    for row in web.layers:
        cards = sum(not web.is_lane(node) for node in row)
        gaps = sum(gap_between(web, one, two) for one, two in pairwise(row))
        if cards:
            widths.append((breadth - gaps) / cards)
    return min(widths)


def _bands(
    web: Web, along: Mapping[int, float], channel: float
) -> tuple[list[tuple[float, float]], float]:
    outside = MARGIN + (TURN_ROOM if any(chain.back for chain in web.chains) else 0.0)
    bands = []
    at = outside
    for row in web.layers:
        deep = max(along[node] for node in row)
        bands.append((round(at, 2), round(at + deep, 2)))
        at += deep + channel
    return bands, round(at - channel + outside, 2)


def _box(
    web: Web, node: int, band: tuple[float, float], along: float, middle: float, half: float
) -> Box:
    """Cards fill their band; a start stands at the end of its own, next to where it leads."""
    begin, end = band
    if web.is_start(node):
        begin = end - along
    return Box(begin, end, round(middle, 2), half)
