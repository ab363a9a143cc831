"""Make a floor fit one A4 sheet: how small the print is, and which cautions go on paper.

The print is measured here because no browser has laid it out yet. Widths of letters are rounded
up, so the sheet ends a little early. What is not printed is counted on the sheet and stands on the
page in full.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from math import ceil

from progress.pages.floor_sheet.contents import CautionLine, LoopLines, StationLines
from progress.pages.shared.loop_drawing import FloorPicture

# The sheet between its margins, and what one and two lines of heading take, millimetres.
WIDE_MM, HIGH_MM = 281.0, 194.0
HEAD_MM, LONG_HEAD_MM, LONG_NAME = 7.0, 14.0, 70
GAP_MM = 5.0  # between columns
SPACES_MM = 6.0  # between heading, picture, list and foot
MOST_SCALE = 0.2646  # millimetres for a unit of the drawing, as on a screen
POINT_MM = 0.3528
LETTER_EM = 0.53  # mean width of a letter, rounded up
LINE_EM = 1.28
HEADING_LINES = 1.8
CHECK_LINES = 10  # the floor check beside the cautions


class Cautions(IntEnum):
    """Which cautions go on paper, from all of them to the names of what to stop at."""

    ALL = 0
    SERIOUS = 1
    STOPS = 2
    NAMES = 3


@dataclass(frozen=True)
class Print:
    """One size of print: ``picture_mm`` is the most the picture is high, to begin with.

    ``run_in``: a station's variants follow each other on the line.
    """

    number: int
    points: float
    picture_mm: float
    columns: int
    run_in: bool = False


PRINTS = (
    Print(0, 9.5, 82.0, 3),
    Print(1, 8.5, 70.0, 3),
    Print(2, 7.6, 58.0, 4),
    Print(3, 6.8, 50.0, 4),
    Print(4, 6.4, 44.0, 5),
    Print(5, 6.0, 38.0, 5),
    Print(6, 6.0, 30.0, 5, run_in=True),
)
# Tried in turn: larger print with all cautions first, the smallest with fewer last.
TRIES = (
    *((one, Cautions.ALL) for one in PRINTS[:4]),
    *((one, Cautions.SERIOUS) for one in PRINTS[2:]),
    *((one, Cautions.STOPS) for one in PRINTS[3:]),
    (PRINTS[-1], Cautions.NAMES),
)


@dataclass(frozen=True)
class Paper:
    """How the sheet is printed.

    ``picture_mm`` is the most the picture is high. ``printed`` are prompts; ``left_out`` counts
    prompts and cautions of variants that stand on the page alone. ``not_written`` names stations
    of which something is not written down; ``stop_at`` those whose prompts did not fit.
    ``fits``: one sheet holds all of it.
    """

    print: Print
    picture_mm: float
    cautions: Cautions
    printed: tuple[CautionLine, ...]
    not_written: str
    left_out: int
    stop_at: str
    fits: bool = True

    @property
    def every_variant(self) -> bool:
        """Whether the caution of every variant is printed."""
        return self.cautions is Cautions.ALL

    @property
    def serious_variants(self) -> bool:
        """Whether those of spotted, high and hanging variants are."""
        return self.cautions <= Cautions.SERIOUS


def fit(
    name: str,
    picture: FloorPicture,
    loops: Sequence[LoopLines],
    cautions: Sequence[CautionLine],
) -> Paper:
    """The first way to print that fits the sheet, the smallest where none does."""
    paper = _paper(*TRIES[-1], loops, cautions)
    for size, which in TRIES:
        paper = _paper(size, which, loops, cautions)
        if height(name, picture, loops, paper) <= HIGH_MM:
            break
    else:
        return replace(paper, fits=False)
    for one in PRINTS:  # what is left over goes to the picture
        grown = replace(paper, picture_mm=one.picture_mm)
        if height(name, picture, loops, grown) <= HIGH_MM:
            return grown
    return paper


def _paper(
    size: Print, which: Cautions, loops: Sequence[LoopLines], cautions: Sequence[CautionLine]
) -> Paper:
    stops = [one for one in cautions if one.is_stop]
    printed: list[CautionLine] = []
    if which is Cautions.ALL:
        printed = [one for one in cautions if not one.missing]
    elif which is Cautions.SERIOUS:
        printed = [one for one in cautions if not one.missing and one.word != "Note"]
    elif which is Cautions.STOPS:
        printed = stops
    left = sum(not one.missing for one in cautions) - len(printed)
    for variant in (v for loop in loops for s in loop.stations for v in s.variants):
        left += bool(variant.caution) and not _is_printed(which, variant.serious)
    missing = dict.fromkeys(one.where for one in cautions if one.missing)
    return Paper(
        print=size,
        picture_mm=size.picture_mm,
        cautions=which,
        printed=tuple(printed),
        not_written=", ".join(missing),
        left_out=left,
        stop_at=", ".join(dict.fromkeys(one.where for one in stops))
        if which is Cautions.NAMES
        else "",
    )


def _is_printed(which: Cautions, serious: bool) -> bool:
    return which is Cautions.ALL or (which is Cautions.SERIOUS and serious)


def height(name: str, picture: FloorPicture, loops: Sequence[LoopLines], paper: Paper) -> float:
    """What the sheet is reckoned to take, millimetres."""
    line = paper.print.points * POINT_MM * LINE_EM
    body = _column_lines(loops, paper) * line
    foot = max(_caution_lines(paper), CHECK_LINES) * line + line
    head = LONG_HEAD_MM if len(name) > LONG_NAME else HEAD_MM
    return head + _picture_mm(picture, paper.picture_mm) + body + foot + SPACES_MM


def _picture_mm(picture: FloorPicture, most: float) -> float:
    if picture.wide is None:
        return 0.0
    scale = min(WIDE_MM / picture.wide.width, MOST_SCALE)
    return min(picture.wide.height * scale, most)


def _column_lines(loops: Sequence[LoopLines], paper: Paper) -> float:
    """Lines of the longest column, where no station is parted and a heading stays with its first.

    As browsers do it: the least height at which everything, filled in from the first column on,
    needs no more columns than there are.
    """
    blocks = []
    for loop in loops:
        lines = [_station_lines(station, paper) for station in loop.stations]
        blocks += [HEADING_LINES + lines[0], *lines[1:]]
    least = max([*blocks, sum(blocks) / paper.print.columns], default=0.0)
    while _columns(blocks, least) > paper.print.columns:
        least += 0.5
    return least


def _columns(blocks: Sequence[float], most: float) -> int:
    columns, used = 1, 0.0
    for block in blocks:
        if used + block > most + 1e-9:
            columns, used = columns + 1, 0.0
        used += block
    return columns


def _station_lines(station: StationLines, paper: Paper) -> float:
    return 0.3 + sum(_wrapped(text, paper, paper.print.columns) for text in _texts(station, paper))


def _texts(station: StationLines, paper: Paper) -> Iterator[str]:
    head = f"{station.place}. {station.name} {station.told and 'described at ' + station.told}"
    variants = []
    for one in station.variants:
        caution = one.caution if _is_printed(paper.cautions, one.serious) else ""
        variants.append(f"   {one.step} {one.name}, {one.facts} {caution}")
    yield from ["".join([head, *variants])] if paper.print.run_in else [head, *variants]


def _caution_lines(paper: Paper) -> float:
    texts = [f"{one.word}  {one.where}: {one.text} {one.todo}" for one in paper.printed]
    texts += [f"Not written down, so not looked at: {paper.not_written}"]
    texts += [f"Stop: {paper.stop_at}"]
    # They take six tenths of the sheet, in two columns.
    return 3 + sum(_wrapped(text, paper, 1 / 0.3) for text in texts) / 2


def _wrapped(text: str, paper: Paper, parts: float) -> int:
    """Lines that a text takes in a column of so many across the sheet."""
    wide = WIDE_MM / parts - GAP_MM
    letters = wide / (paper.print.points * POINT_MM * LETTER_EM)
    return max(ceil(len(text) / letters), 1)
