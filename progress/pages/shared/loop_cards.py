"""What stands on a station's card and at a loop's start, line by line.

Widths of letters are estimated here, because the page is drawn before any browser measures it.
All lengths are units of the drawing: on a phone one unit is one pixel.
"""

from collections.abc import Sequence
from dataclasses import dataclass

PAD = 8.0
MARK, MARK_GAP = 20.0, 4.0
NAME_SIZE, SMALL_SIZE = 14.0, 12.5
NAME_LINE, SMALL_LINE = 18.0, 17.0
TICK_SPACE = 13.0
ICON = 15.0
# Shapes a loop's letter stands in, as many as there are line patterns; more loops begin again.
SHAPES = (
    "M10 1a9 9 0 1 1 0 18a9 9 0 1 1 0-18z",
    "M1.5 1.5h17v17h-17z",
    "M10 .5L19 6.500V19H1V6.500z",
    "M1 1H12.500L19 7.500V19H1z",
    "M5.500 1h9L19.500 10L14.500 19h-9L.5 10z",
    "M1 1h18v9a9 9 0 0 1-18 0z",
)

# Widths of common sans letters in ems (Arial's metrics, from memory), upright and rounded up.
_NARROW, _SLIM, _BROAD = set("ijl.,:;|'’!I \ue000"), set("frt()-/·"), set("mwMW@%…—")
_BOLDER = 1.09
# Keeps the dot that parts two names on the line of the first: a space that no line breaks at.
_HELD = "\ue000"


@dataclass(frozen=True)
class FloorStation:
    """A station as it is drawn.

    ``steps`` are (step number, short name), easiest first; 0 is the base. ``spotter``: somebody
    stands here. ``lanes``: children who can go at once, 1 or more.
    """

    code: str
    name: str
    steps: tuple[tuple[int, str], ...] = ()
    spotter: bool = False
    lanes: int = 1


@dataclass(frozen=True)
class Text:
    """One line of writing; ``x`` is where it begins, or its middle where it is centred."""

    x: float
    y: float
    words: str
    css: str


@dataclass(frozen=True)
class Badge:
    """A loop's mark at a place, with the station's numbers in that loop ("2", or "2, 6")."""

    x: float
    y: float
    loop: int
    letter: str
    number: str = ""

    @property
    def outline(self) -> str:
        """SVG path data of the shape around the letter."""
        return SHAPES[self.loop % len(SHAPES)]

    @property
    def number_x(self) -> float:
        """Where the number begins."""
        return round(self.x + MARK + 3.0, 2)

    @property
    def number_y(self) -> float:
        """The number's baseline."""
        return round(self.y + 15.0, 2)


@dataclass(frozen=True)
class Tick:
    """A step of the station as a stroke; the base stands taller."""

    x: float
    top: float
    foot: float
    base: bool


@dataclass(frozen=True)
class CardFace:
    """The writing of one card, from its own top left corner, and the height it takes."""

    height: float
    badges: tuple[Badge, ...]
    texts: tuple[Text, ...]
    ticks: tuple[Tick, ...]
    spotter: tuple[float, float] | None
    full_words: str


@dataclass(frozen=True)
class LabelFace:
    """A loop's mark above its name, from the label's own top left corner."""

    width: float
    height: float
    badge: Badge
    texts: tuple[Text, ...]
    full_words: str


def width_of(words: str, size: float, *, bold: bool = False) -> float:
    """About how wide the words are at a letter size, in the same unit."""
    ems = 0.0
    for letter in words:
        if letter in _NARROW:
            ems += 0.29
        elif letter in _SLIM:
            ems += 0.36
        elif letter in _BROAD:
            ems += 0.95
        else:
            ems += 0.72 if letter.isupper() else 1.05 if ord(letter) > 0x2E7F else 0.57
    return ems * size * (_BOLDER if bold else 1.0)


def fit(
    words: str, width: float, size: float, lines: int, *, bold: bool = False
) -> tuple[list[str], bool]:
    """Break words into at most so many lines; the second value says whether anything was cut."""
    broken: list[str] = []
    for word in words.split():
        joined = f"{broken[-1]} {word}" if broken else word
        if broken and width_of(joined, size, bold=bold) <= width:
            broken[-1] = joined
        else:
            broken.append(word)
    cut = len(broken) > lines
    kept = broken[:lines]
    if cut and kept:
        kept[-1] += "…"
    shown = []
    for line in kept:
        short = line.rstrip("…")
        was_cut = line.endswith("…") and cut
        while short and width_of(short + ("…" if was_cut else ""), size, bold=bold) > width:
            short, was_cut = short[:-1].rstrip(), True
        shown.append(short + ("…" if was_cut else ""))
        cut = cut or was_cut
    return shown, cut


def card_face(
    station: FloorStation,
    badges: Sequence[tuple[int, str, str]],
    width: float,
    step_lines: int = 3,
) -> CardFace:
    """Write a station's card of this width.

    ``badges`` are (loop, letter, numbers) of the loops that stop here, in their order. Names of
    steps that need more than ``step_lines`` lines become strokes.
    """
    inner = width - 2 * PAD
    placed, y = _flow_badges(badges, inner)
    texts: list[Text] = []
    if not badges:
        texts.append(Text(PAD, y + 13, _shortest("on no loop", inner), "floor-small"))
        y += SMALL_LINE
    for line in fit(station.name, inner, NAME_SIZE, 2, bold=True)[0]:
        texts.append(Text(PAD, round(y + 14, 2), line, "floor-name"))
        y += NAME_LINE
    y += 2
    words, ticks, y = _steps(station.steps, inner, y, step_lines)
    feet, spotter, y = _foot(station, inner, y)
    return CardFace(
        height=round(y + PAD - 2, 2),
        badges=tuple(placed),
        texts=(*texts, *words, *feet),
        ticks=tuple(ticks),
        spotter=spotter,
        full_words=in_full(station),
    )


def _shortest(words: str, width: float) -> str:
    return fit(words, width, SMALL_SIZE, 1)[0][0]


def _flow_badges(badges: Sequence[tuple[int, str, str]], inner: float) -> tuple[list[Badge], float]:
    placed: list[Badge] = []
    x, y = PAD, PAD
    for loop, letter, number in badges:
        wide = MARK + 3 + width_of(number, NAME_SIZE, bold=True)
        if x > PAD and x + wide > PAD + inner:
            x, y = PAD, y + MARK + 3
        placed.append(Badge(round(x, 2), round(y, 2), loop, letter, number))
        x += wide + 7
    return placed, y + (MARK + 4 if badges else 0.0)


def _steps(
    steps: Sequence[tuple[int, str]], inner: float, y: float, most: int
) -> tuple[list[Text], list[Tick], float]:
    """Names of the steps where they fit, else a stroke for each."""
    if not steps:
        return [], [], y
    together = f"{_HELD}· ".join(name for _, name in steps)
    lines, cut = fit(together, inner, SMALL_SIZE, most)
    if not cut and all(name for _, name in steps):
        texts = [
            Text(
                PAD,
                round(y + 12.5 + SMALL_LINE * number, 2),
                line.replace(_HELD, " "),
                "floor-small",
            )
            for number, line in enumerate(lines)
        ]
        return texts, [], y + SMALL_LINE * len(lines)
    apart = min(TICK_SPACE, inner / len(steps))
    ticks = [
        Tick(round(PAD + 2 + apart * place, 2), y + (2 if step == 0 else 6), y + 14, step == 0)
        for place, (step, _) in enumerate(steps)
    ]
    return [], ticks, y + SMALL_LINE


def _foot(
    station: FloorStation, inner: float, y: float
) -> tuple[list[Text], tuple[float, float] | None, float]:
    """The spotter's figure and word, and the lanes where there is more than one."""
    texts: list[Text] = []
    figure, x = None, PAD
    if station.spotter:
        figure = (PAD, round(y + 1, 2))
        word = _shortest("spotter", inner - ICON - 3)
        texts.append(Text(PAD + ICON + 3, round(y + 13, 2), word, "floor-small"))
        x += ICON + 3 + width_of(word, SMALL_SIZE) + 10
    if station.lanes > 1:
        words = _shortest(f"{station.lanes} lanes", inner)
        if station.spotter and x + width_of(words, SMALL_SIZE) > PAD + inner:
            x, y = PAD, y + SMALL_LINE
        texts.append(Text(round(x, 2), round(y + 13, 2), words, "floor-small"))
    return texts, figure, y + (SMALL_LINE + 1 if texts else 0.0)


def label_face(name: str, loop: int, letter: str, width: float) -> LabelFace:
    """Write a loop's name at its start, no wider than ``width``."""
    lines, _ = fit(name, width - 4, NAME_SIZE, 2, bold=True)
    wide = max((width_of(line, NAME_SIZE, bold=True) for line in lines), default=0.0)
    across = round(max(min(wide, width - 4) + 4, 2 * PAD + MARK + 8), 2)
    texts = tuple(
        Text(round(across / 2, 2), MARK + 17 + NAME_LINE * number, line, "floor-loop-name")
        for number, line in enumerate(lines)
    )
    badge = Badge(round((across - MARK) / 2, 2), 1.0, loop, letter)
    full = f"Loop {letter}: {name}" if name else f"Loop {letter}"
    return LabelFace(across, MARK + 5 + NAME_LINE * len(lines), badge, texts, full)


def in_full(station: FloorStation) -> str:
    """Everything the card says, uncut, as a sentence or two."""
    parts = [station.name]
    if station.steps:
        parts.append(", ".join(name or f"step {step}" for step, name in station.steps))
    if station.spotter:
        parts.append("spotter")
    if station.lanes > 1:
        parts.append(f"{station.lanes} lanes")
    return ". ".join(parts)
