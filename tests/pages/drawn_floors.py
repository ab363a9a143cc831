"""Floors to draw, and where on the sheet a drawing puts its lines and cards."""

import re
from dataclasses import dataclass
from itertools import pairwise

from hypothesis import strategies as st

from progress.pages.shared.loop_cards import FloorStation
from progress.pages.shared.loop_drawing import FloorLoop, LoopDrawing, draw_floor

Floor = tuple[list[FloorLoop], list[FloorStation]]
WORDS = ["Beam", "Stepping blocks", "Wedge and roll for the youngest of all", "Unterschwungbrücken"]
STEPS = [
    (),
    ((0, "base"),),
    ((-1, "easier"), (0, "base"), (1, "harder")),
    ((-2, "on the floor with a hand"), (-1, "knee high"), (0, "hip high"), (1, "hip high, run-in")),
]


def floor(*loops: str) -> Floor:
    """Loops A, B, ... from strings of station codes."""
    drawn = [
        FloorLoop(chr(65 + number), f"Loop named {number}", tuple(stops.split()))
        for number, stops in enumerate(loops)
    ]
    codes = dict.fromkeys(code for loop in drawn for code in loop.stops)
    return drawn, [
        FloorStation(
            code,
            f"{WORDS[number % 4]} {code}",
            STEPS[number % 4],
            spotter=number % 3 == 0,
            lanes=1 + number % 3,
        )
        for number, code in enumerate(codes)
    ]


FLOORS = {
    "one loop of three": floor("a b c"),
    "a shared start and a split": floor("a b c d e f", "a b g h i j"),
    "a split and a rejoin": floor("a b c d e f", "a b g h e f"),
    "three loops sharing a middle": floor("a b m c d", "e f m g", "h i m j k"),
    "two stations swapped": floor("a b c d", "a c b d"),
    "three loops of eight": floor("a b c d e f g h", "i j k l m n o p", "q r s t u v w x"),
    "one the other way round": floor("a b c d", "d c b a"),
    "one station": floor("a"),
    "a station passed twice": floor("a b c a d", "b d"),
    "one loop joins another at its end": floor("a b c d e f g h", "h i j k l m n"),
    "many loops": floor("a b", "c b", "d b", "e b", "f b", "g b", "h b"),
}


@st.composite
def floors(draw: st.DrawFn) -> Floor:
    """Up to 4 loops of up to 8 stations out of 14."""
    codes = "abcdefghijklmn"
    loops = draw(
        st.lists(
            st.lists(st.sampled_from(codes), min_size=1, max_size=8, unique=True),
            min_size=1,
            max_size=4,
        )
    )
    return floor(*(" ".join(stops) for stops in loops))


@dataclass(frozen=True)
class Rectangle:
    left: float
    top: float
    right: float
    foot: float

    def holds(self, x: float, y: float, slack: float = 0.0) -> bool:
        return (
            self.left - slack <= x <= self.right + slack
            and self.top - slack <= y <= self.foot + slack
        )

    def meets(self, other: "Rectangle") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.foot
            and other.top < self.foot
        )


def rectangles(drawing: LoopDrawing) -> dict[str, Rectangle]:
    """Cards by their station's code, names of loops by "start" and the loop's code."""
    boxes = [(card.code, card.x, card.y, card.width, card.height) for card in drawing.cards]
    boxes += [(f"start {one.loop}", one.x, one.y, one.width, one.height) for one in drawing.labels]
    return {name: Rectangle(x, y, x + wide, y + high) for name, x, y, wide, high in boxes}


def points_of(d: str) -> list[tuple[float, float]]:
    """Points close together along SVG path data of moves, strokes and cubic curves."""
    points: list[tuple[float, float]] = []
    for command, numbers in re.findall(r"([MLC])([^MLCZ]*)", d):
        values = [float(number) for number in numbers.split()]
        ends = list(zip(values[::2], values[1::2], strict=True))
        if command == "M":
            points += ends
            continue
        start = points[-1]
        for step in range(1, 25):
            t = step / 24
            if command == "L":
                points.append(tuple(a + (b - a) * t for a, b in zip(start, ends[0], strict=True)))  # type: ignore[arg-type]
            else:
                one, two, end = ends
                weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                x, y = (
                    sum(w * p[axis] for w, p in zip(weights, (start, one, two, end), strict=True))
                    for axis in (0, 1)
                )
                points.append((x, y))
    return points


def both(case: Floor) -> list[LoopDrawing]:
    picture = draw_floor(*case)
    assert picture.tall is not None
    assert picture.wide is not None
    return [picture.tall, picture.wide]


def cross(one: list[tuple[float, float]], two: list[tuple[float, float]]) -> bool:
    """Whether two polylines cross properly."""

    def side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    for a, b in pairwise(one):
        for c, d in pairwise(two):
            if side(a, b, c) * side(a, b, d) < -1e-9 and side(c, d, a) * side(c, d, b) < -1e-9:
                return True
    return False
