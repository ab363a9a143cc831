"""A picture of a week's floor: stations as cards, loops as lines through them.

Everything is placed from the data; nothing is put by hand. Shared stations are drawn once. The
same floor is drawn *tall* for a phone and *wide* for a laptop and a sheet of paper.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from progress.pages.shared.loop_cards import (
    SHAPES,
    CardFace,
    FloorStation,
    LabelFace,
    card_face,
    in_full,
    label_face,
)
from progress.pages.shared.loop_layers import Web
from progress.pages.shared.loop_paths import Box, Line, Point, lead
from progress.pages.shared.loop_sheet import SHEETS, Laid, Orientation, Size, fit_web, lay

PATTERNS = len(SHAPES)
ARROW_LONG, ARROW_HALF = 9.0, 4.5


@dataclass(frozen=True)
class FloorLoop:
    """A loop as it is drawn: ``stops`` are codes of stations in order."""

    code: str
    name: str
    stops: tuple[str, ...]


@dataclass(frozen=True)
class Card:
    """A station in its place; ``face`` is measured from the card's top left corner."""

    code: str
    x: float
    y: float
    width: float
    height: float
    face: CardFace


@dataclass(frozen=True)
class StartLabel:
    """A loop's mark and name where it begins; ``face`` is measured from its top left corner."""

    loop: str
    x: float
    y: float
    width: float
    height: float
    face: LabelFace


@dataclass(frozen=True)
class LoopPath:
    """One way of a loop from stop to stop; ``back`` is the way round to the start.

    ``here`` and ``there`` are codes of stations, None at the loop's name. ``d`` and ``arrow`` are
    SVG path data.
    """

    loop: str
    here: str | None
    there: str | None
    pattern: int
    back: bool
    d: str
    arrow: str


@dataclass(frozen=True)
class LoopDrawing:
    """A floor ready to draw; lengths are units of the view box, on a phone pixels.

    ``broad``: wider than the screen it is meant for, so the page lets people move it sideways.
    """

    orientation: Orientation
    width: float
    height: float
    broad: bool
    cards: tuple[Card, ...]
    labels: tuple[StartLabel, ...]
    paths: tuple[LoopPath, ...]

    @property
    def view_box(self) -> str:
        """The value of the SVG attribute."""
        return f"0 0 {self.width:g} {self.height:g}"


@dataclass(frozen=True)
class LoopInWords:
    """A loop's letter and name, and what each of its stops says."""

    letter: str
    name: str
    stops: tuple[str, ...]


@dataclass(frozen=True)
class FloorPicture:
    """Both drawings and the same in words; the drawings are None where no station stands.

    ``alone`` are stations on no loop.
    """

    tall: LoopDrawing | None
    wide: LoopDrawing | None
    loops: tuple[LoopInWords, ...]
    alone: tuple[str, ...]


def draw_floor(loops: Sequence[FloorLoop], stations: Sequence[FloorStation]) -> FloorPicture:
    """Draw a week's floor both ways, with the same in words.

    Loops without stops are left out. Raises ValueError where a loop stops at a station that
    ``stations`` lacks, or two stations or loops share a code.
    """
    plan = _Plan(loops, stations)
    if not plan.stations:
        return FloorPicture(None, None, (), ())
    met = {code for loop in plan.loops for code in loop.stops}
    return FloorPicture(
        tall=plan.drawn(Orientation.TALL),
        wide=plan.drawn(Orientation.WIDE),
        loops=tuple(plan.in_words(number) for number in range(len(plan.loops))),
        alone=tuple(in_full(one) for one in plan.stations if one.code not in met),
    )


class _Plan:
    """A floor with its stations numbered and its loops lettered."""

    def __init__(self, loops: Sequence[FloorLoop], stations: Sequence[FloorStation]) -> None:
        self.loops = [loop for loop in loops if loop.stops]
        self.stations = list(stations)
        self.number = {station.code: number for number, station in enumerate(stations)}
        codes = {loop.code for loop in loops}
        if len(self.number) < len(stations) or len(codes) < len(loops):
            raise ValueError("two stations or two loops share a code")
        for loop in self.loops:
            for code in loop.stops:
                if code not in self.number:
                    raise ValueError(f"loop {loop.code} stops at {code}, which is not described")
        self.routes = [[self.number[code] for code in loop.stops] for loop in self.loops]
        self.letters = _letters([loop.code for loop in self.loops])

    def in_words(self, number: int) -> LoopInWords:
        """The list that says what the picture shows."""
        loop = self.loops[number]
        stops = tuple(in_full(self.stations[self.number[code]]) for code in loop.stops)
        return LoopInWords(self.letters[number], loop.name, stops)

    def drawn(self, orientation: Orientation) -> LoopDrawing:
        """Place cards and names, and lead the lines."""
        web, width, channel = fit_web(len(self.stations), self.routes, orientation)
        lines = SHEETS[orientation].step_lines
        faces = [self._face(number, width, lines) for number in range(len(self.stations))]
        labels = [
            label_face(loop.name, number, letter, min(width, SHEETS[orientation].start))
            for number, (loop, letter) in enumerate(zip(self.loops, self.letters, strict=True))
        ]

        def size_of(node: int) -> Size:
            if web.is_start(node):
                label = labels[node - web.stations]
                return label.width, label.height
            return width, faces[node].height

        laid = lay(web, orientation, size_of, channel)
        corners = {
            node: _corner(box, orientation)
            for node, box in laid.boxes.items()
            if not web.is_lane(node)
        }
        cards = [
            Card(station.code, *corners[number], face)
            for number, (station, face) in enumerate(zip(self.stations, faces, strict=True))
        ]
        starts = [
            StartLabel(loop.code, *corners[web.stations + number], label)
            for number, (loop, label) in enumerate(zip(self.loops, labels, strict=True))
        ]
        return LoopDrawing(
            orientation=orientation,
            width=laid.width,
            height=laid.height,
            broad=laid.is_broad(orientation),
            cards=tuple(cards),
            labels=tuple(starts),
            paths=tuple(self._paths(laid, orientation)),
        )

    def _face(self, number: int, width: float, step_lines: int) -> CardFace:
        badges = []
        for loop, route in enumerate(self.routes):
            turns = [str(place) for place, stop in enumerate(route, start=1) if stop == number]
            if turns:
                badges.append((loop, self.letters[loop], ", ".join(turns)))
        return card_face(self.stations[number], badges, width, step_lines)

    def _paths(self, laid: Laid, orientation: Orientation) -> list[LoopPath]:
        """Ways back come first, so that they lie underneath."""
        lines = lead(laid.web, laid.boxes, laid.bands)
        return [
            LoopPath(
                loop=self.loops[line.chain.loop].code,
                here=self._code(laid.web, line.chain.nodes[0]),
                there=self._code(laid.web, line.chain.nodes[-1]),
                pattern=line.chain.loop % PATTERNS,
                back=line.chain.back,
                d=_path_data(line, orientation),
                arrow=_arrow(line, orientation),
            )
            for line in sorted(lines, key=lambda line: not line.chain.back)
        ]

    def _code(self, web: Web, node: int) -> str | None:
        return None if web.is_start(node) else self.stations[node].code


def _letters(codes: Sequence[str]) -> list[str]:
    """The loops' own letters where each has one, else letters in their order."""
    own = [code.upper() for code in codes]
    if all(len(code) == 1 and code.isalnum() for code in own) and len(set(own)) == len(own):
        return own
    return [chr(ord("A") + number % 26) for number in range(len(codes))]


def _corner(box: Box, orientation: Orientation) -> tuple[float, float, float, float]:
    """x, y, width and height on the page."""
    along, across = round(box.end - box.begin, 2), round(2 * box.half, 2)
    begin, edge = round(box.begin, 2), round(box.middle - box.half, 2)
    if orientation is Orientation.TALL:
        return edge, begin, across, along
    return begin, edge, along, across


def _on_page(point: Point, orientation: Orientation) -> str:
    x, y = reversed(point) if orientation is Orientation.TALL else point
    return f"{round(x, 2):g} {round(y, 2):g}"


def _path_data(line: Line, orientation: Orientation) -> str:
    return "".join(
        command + " ".join(_on_page(point, orientation) for point in points)
        for command, points in line.parts
    )


def _arrow(line: Line, orientation: Orientation) -> str:
    along, across = line.tip
    foot = along - ARROW_LONG if line.forward else along + ARROW_LONG
    corners = (line.tip, (foot, across - ARROW_HALF), (foot, across + ARROW_HALF))
    return "M" + "L".join(_on_page(corner, orientation) for corner in corners) + "Z"
