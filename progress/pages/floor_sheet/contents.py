"""What stands on the sheet: the picture, the stations loop by loop, the cautions, the ticks."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from progress.engine.safety_facts import Prompt, Severity
from progress.models import Loop, Station, Variant
from progress.pages.shared.loop_cards import FloorStation
from progress.pages.shared.loop_drawing import FloorLoop, FloorPicture, draw_floor
from progress.pages.shared.words import step_word
from progress.usecases.see_floor_sheet import FloorSheet

# What a coach walks round and looks at before the day's first class (common practice, no source).
TICKS = (
    "Every station stands as on this sheet",
    "Mats lie where they belong, closed up, not torn",
    "Landings and the ways between are clear",
    "Nothing is loose: bolts, ropes, blocks, frames",
    "Stations nobody should use are shut off",
    "First aid and the ways out are free to reach",
)
HIGH_M = 0.6  # feet from which a variant's own caution counts as serious: the rules' lower height
WORDS = {Severity.STOP: "Stop", Severity.WARN: "Look", Severity.INFO: "Note"}


@dataclass(frozen=True)
class VariantLine:
    """A variant in a line. ``serious``: its caution goes on paper before those of others."""

    step: str
    name: str
    facts: str
    caution: str
    serious: bool


@dataclass(frozen=True)
class StationLines:
    """A station at its place. ``told`` says where it is described, empty where that is here."""

    place: int
    name: str
    told: str
    variants: tuple[VariantLine, ...]


@dataclass(frozen=True)
class LoopLines:
    """A loop with its letter in the picture."""

    letter: str
    name: str
    area: str
    stations: tuple[StationLines, ...]


@dataclass(frozen=True)
class CautionLine:
    """A prompt with its station's name; ``missing``: it lists what is not written down."""

    severity: Severity
    where: str
    text: str
    todo: str
    source: str
    analogy: bool
    missing: bool

    @property
    def word(self) -> str:
        """The severity in a word."""
        return WORDS[self.severity]

    @property
    def is_stop(self) -> bool:
        """Whether it wants the lead's reason before the station is used."""
        return self.severity is Severity.STOP


def draw(sheet: FloorSheet) -> FloorPicture:
    """The picture; variants stand in the list beside it, so the cards stay small."""
    loops = [
        FloorLoop(loop.code, loop.name, tuple(stop.station.code for stop in loop.stops.all()))
        for loop in sheet.loops
    ]
    stations = {s.station.code: s.station for loop in sheet.loops for s in loop.stops.all()}
    return draw_floor(loops, [_drawn(one) for one in stations.values()])


def _drawn(station: Station) -> FloorStation:
    variants = list(station.variants.all())
    base = next((one for one in variants if one.step == 0), None) or next(iter(variants), None)
    return FloorStation(
        code=station.code,
        name=station.name,
        spotter=any(one.spotter for one in variants),
        lanes=base.lanes if base else 1,
    )


def loop_lines(loops: Sequence[Loop], letters: Iterable[str]) -> list[LoopLines]:
    """Loops in order; a station that several share is described at the first."""
    told: dict[str, str] = {}
    found = []
    for loop, letter in zip(loops, letters, strict=True):
        stations = []
        for place, stop in enumerate(loop.stops.all(), start=1):
            station = stop.station
            there = told.setdefault(station.code, f"{letter}{place}")
            here = there == f"{letter}{place}"
            variants = tuple(variant_line(one) for one in station.variants.all()) if here else ()
            stations.append(StationLines(place, station.name, "" if here else there, variants))
        found.append(LoopLines(letter, loop.name, loop.area.name, tuple(stations)))
    return found


def variant_line(variant: Variant) -> VariantLine:
    """Feet, hands, lanes and who stands there, after the variant's name."""
    parts = []
    if variant.height_m is not None:
        parts.append(f"feet {variant.height_m:g} m")
    if variant.hand_height_m is not None:
        parts.append(f"hands {variant.hand_height_m:g} m")
    if variant.lanes > 1:
        parts.append(f"{variant.lanes} lanes")
    if variant.minimum_age is not None:
        parts.append(f"from {variant.minimum_age:g} years")
    if variant.spotter:
        parts.append("adult stands here")
    high = variant.height_m is not None and variant.height_m >= HIGH_M
    hangs = variant.hand_height_m is not None
    return VariantLine(
        step=step_word(variant.step) + (f" {abs(variant.step)}" if abs(variant.step) > 1 else ""),
        name=variant.name or variant.code,
        facts=", ".join(parts),
        caution=" ".join(variant.caution.split()),
        serious=bool(variant.caution) and (variant.spotter or high or hangs),
    )


def caution_lines(prompts: Sequence[Prompt], loops: Sequence[Loop]) -> list[CautionLine]:
    """The prompts with names for codes, in their order."""
    names = {s.station.code: s.station.name for loop in loops for s in loop.stops.all()}
    return [
        CautionLine(
            severity=one.severity,
            where=names.get(one.station or "", "The floor"),
            text=one.text,
            todo=one.todo,
            source=f"{one.source}; {one.status}",
            analogy=one.analogy,
            missing=one.rule == "missing-facts",
        )
        for one in prompts
    ]
