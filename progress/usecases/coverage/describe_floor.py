"""A setup and the station library in the engine's words."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch

from progress.engine import terms
from progress.engine.station_demand import Floor, FloorArea, LibraryStation, Standing
from progress.models import (
    Area,
    Equipment,
    Loop,
    LoopStop,
    Setup,
    Station,
    StationEquipment,
    Variant,
)


@dataclass(frozen=True)
class Choice:
    """A column of the comparison: a station that stands, one of the library, or both as one.

    ``copied_from`` is what a coach would get a copy of. ``standing`` says whether it is on the
    floor as it is.
    """

    code: str
    station: Station
    copied_from: Station
    standing: bool
    variants: tuple[terms.Variant, ...]


@dataclass(frozen=True)
class FloorFacts:
    """A setup next to what could stand there.

    ``areas`` and ``choices`` go by the engine's codes, which are words a coach can read: the
    engine's sentences name areas and equipment by them. ``loops`` in the order of the floor.
    """

    setup: Setup
    loops: tuple[Loop, ...]
    areas: Mapping[str, Area]
    choices: Mapping[str, Choice]
    equipment: tuple[Equipment, ...]
    standing: tuple[tuple[str, str], ...]  # (area, choice)
    without_space: tuple[str, ...]

    def areas_by_kind(self) -> dict[bool, list[str]]:
        """Codes of the areas for the hall (False) and for the youngest (True)."""
        kinds: dict[bool, list[str]] = {}
        for code, area in self.areas.items():
            kinds.setdefault(area.small, []).append(code)
        return kinds

    @property
    def library_size(self) -> int:
        """How many stations the library has."""
        copied = [choice.copied_from for choice in self.choices.values()]
        return sum(one.setup_id != self.setup.pk for one in copied)

    def as_floor(self, fixed: Collection[int]) -> Floor:
        """The engine's floor; ``fixed`` are keys of stations that stay."""
        kinds = _named(self.equipment)
        return Floor(
            areas=tuple(
                FloorArea(code, small=area.small, space_m2=area.space_m2)
                for code, area in self.areas.items()
            ),
            library=tuple(_library_station(one, kinds) for one in self.choices.values()),
            standing=tuple(
                Standing(area, code, fixed=self.choices[code].station.pk in fixed)
                for area, code in self.standing
            ),
            equipment={kinds[one.pk]: one.count for one in self.equipment},
        )

    def loops_of(self, station: Station, area: str) -> tuple[tuple[Loop, int], ...]:
        """Loops of an area that come to a station, with its place in each."""
        return tuple(
            (loop, stop.position)
            for loop in self.loops
            if loop.area_id == self.areas[area].pk
            for stop in loop.stops.all()
            if stop.station_id == station.pk
        )


def describe_floor(setup: Setup) -> FloorFacts:
    """Read a setup's loops and the library: nine queries, whatever stands there."""
    loops = tuple(
        Loop.objects.filter(setup=setup)
        .select_related("area")
        .order_by("area__small", "order", "code")
        .prefetch_related(Prefetch("stops", _stops()))
    )
    library = Setup.objects.library()
    stations = _with_parts(Station.objects.filter(setup__in=[setup, library]).order_by("code"))
    met = {stop.station_id for loop in loops for stop in loop.stops.all()}
    on_floor = [one for one in stations if one.pk in met]
    choices = _choices(on_floor, [one for one in stations if one.setup_id == library.pk])
    code_of = {choice.station.pk: code for code, choice in choices.items()}
    area_codes = _named({loop.area_id: loop.area for loop in loops}.values())
    standing = {
        (area_codes[loop.area_id], code_of[stop.station_id]): None
        for loop in loops
        for stop in loop.stops.all()
    }
    return FloorFacts(
        setup=setup,
        loops=loops,
        areas={area_codes[loop.area_id]: loop.area for loop in loops},
        choices=choices,
        equipment=tuple(Equipment.objects.all()),
        standing=tuple(standing),
        without_space=tuple(one.name for one in on_floor if one.space_m2 is None),
    )


def _stops() -> Any:
    return LoopStop.objects.select_related("station").order_by("position")


def _with_parts(stations: Any) -> list[Station]:
    return list(
        stations.prefetch_related(
            Prefetch("variants", Variant.objects.select_related("skill").order_by("step", "code")),
            Prefetch("equipment_links", StationEquipment.objects.order_by("equipment")),
        )
    )


def _choices(on_floor: Iterable[Station], library: Iterable[Station]) -> dict[str, Choice]:
    """What stands and what the library has; a station that is the same in both comes once."""
    originals = {one.code: one for one in library}
    choices = []
    same = set()
    for one in on_floor:
        original = originals.get(one.code)
        if original is not None and _facts(one) == _facts(original):
            same.add(one.code)
            choices.append(_choice(f"{one.code} here", one, original, standing=True))
        else:
            choices.append(_choice(f"{one.code} here", one, one, standing=True))
    for code, one in originals.items():
        if code not in same:
            choices.append(_choice(f"{code} library", one, one, standing=False))
    return {choice.code: choice for choice in choices}


def _choice(code: str, station: Station, copied_from: Station, *, standing: bool) -> Choice:
    variants = tuple(variant.as_term() for variant in station.variants.all())
    return Choice(code, station, copied_from, standing, variants)


def _facts(station: Station) -> tuple[object, ...]:
    """What the comparison asks of a station."""
    variants = [(v.skill_id, v.height_m, v.minimum_age, v.step) for v in station.variants.all()]
    takes = sorted((link.equipment_id, link.count) for link in station.equipment_links.all())
    return station.small_area, station.space_m2, tuple(takes), tuple(variants)


def _library_station(choice: Choice, kinds: Mapping[int, str]) -> LibraryStation:
    station = choice.station
    links = station.equipment_links.all()
    return LibraryStation(
        code=choice.code,
        name=station.name,
        space_m2=station.space_m2 or 0.0,
        equipment=tuple((kinds[link.equipment_id], link.count) for link in links),
        small_area=station.small_area,
    )


def _named(records: Iterable[Area | Equipment]) -> dict[int, str]:
    """Every record's name by key, with its code where two have the same name."""
    found = list(records)
    names = [one.name for one in found]
    return {
        one.pk: one.name if names.count(one.name) == 1 else f"{one.name} ({one.code})"
        for one in found
    }
