"""A setup as the builder's page shows it: the picture, and the same station by station."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from progress.models import Area, Loop, Station, Variant
from progress.pages.floor.words import step_words, variant_line, variants_line
from progress.pages.shared.loop_cards import FloorStation
from progress.pages.shared.loop_drawing import FloorLoop, FloorPicture, draw_floor
from progress.usecases.floors.see_setup import AreaSeen, LoopSeen, SetupSeen, StopSeen


@dataclass(frozen=True)
class VariantRow:
    """A variant in words; ``step`` is what it is called."""

    variant: Variant
    step: str
    facts: str


@dataclass(frozen=True)
class StationRow:
    """A station in words. ``position`` is 0 for one on no loop."""

    station: Station
    variants: tuple[VariantRow, ...]
    line: str
    skills: str
    position: int = 0
    is_last: bool = False
    shared_with: str = ""

    @property
    def key(self) -> str:
        """The station's part of an anchor."""
        return str(self.station.pk)


@dataclass(frozen=True)
class LoopRow:
    """A loop with its letter in the picture, which is empty where it has no station."""

    loop: Loop
    letter: str
    stops: tuple[StationRow, ...]
    elsewhere: tuple[Loop, ...]


@dataclass(frozen=True)
class AreaRow:
    """A part of the hall with its loops."""

    area: Area
    loops: tuple[LoopRow, ...]


def draw_setup(seen: SetupSeen) -> FloorPicture:
    """The picture of a setup; stations put aside are not in it."""
    loops = [
        FloorLoop(one.loop.code, one.loop.name, tuple(stop.station.code for stop in one.stops))
        for one in seen.loops
    ]
    stops = {stop.station.code: stop for one in seen.loops for stop in one.stops}
    return draw_floor(loops, [drawn_station(stop) for stop in stops.values()])


def drawn_station(stop: StopSeen) -> FloorStation:
    """A station as the picture takes it; its lanes are those of the base, or of the easiest."""
    base = next((one for one in stop.variants if one.step == 0), None)
    shown = base or next(iter(stop.variants), None)
    return FloorStation(
        code=stop.station.code,
        name=stop.station.name,
        steps=tuple((one.step, one.name or step_words(one.step)) for one in stop.variants),
        spotter=any(one.spotter for one in stop.variants),
        lanes=shown.lanes if shown else 1,
    )


def area_rows(seen: SetupSeen, picture: FloorPicture) -> list[AreaRow]:
    """Areas with their loops, lettered as in the picture."""
    letters = iter(picture.loops)
    found = {one.loop.pk: next(letters).letter if one.stops else "" for one in seen.loops}
    return [_area_row(area, found) for area in seen.areas]


def _area_row(area: AreaSeen, letters: dict[int, str]) -> AreaRow:
    return AreaRow(area.area, tuple(_loop_row(one, letters[one.loop.pk]) for one in area.loops))


def _loop_row(one: LoopSeen, letter: str) -> LoopRow:
    return LoopRow(one.loop, letter, tuple(map(stop_row, one.stops)), one.elsewhere)


def stop_row(stop: StopSeen) -> StationRow:
    """A stop of a loop, or a station put aside."""
    return StationRow(
        station=stop.station,
        variants=variant_rows(stop.variants),
        line=variants_line(stop.variants),
        skills=skills_of(stop.variants),
        position=stop.position,
        is_last=stop.is_last,
        shared_with=" and ".join(stop.shared_with),
    )


def station_row(station: Station) -> StationRow:
    """A station whose variants and skills are loaded."""
    variants = tuple(station.variants.all())
    return StationRow(station, variant_rows(variants), variants_line(variants), skills_of(variants))


def variant_rows(variants: Sequence[Variant]) -> tuple[VariantRow, ...]:
    """Variants in words, easiest first."""
    return tuple(VariantRow(one, step_words(one.step), variant_line(one)) for one in variants)


def skills_of(variants: Iterable[Variant]) -> str:
    """Names of the skills they practise, each once."""
    return ", ".join(dict.fromkeys(one.skill.name for one in variants))
