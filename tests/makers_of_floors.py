"""Make floors for tests: setups, stations, variants and loops. Import these from tests.makers."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from progress.models import Area, Loop, LoopStop, Setup, Skill, Station, Variant


def make_area(code: str = "main", **values: Any) -> Area:
    """The area with this code, made if it is not there yet."""
    values.setdefault("name", code.capitalize())
    return Area.objects.get_or_create(code=code, defaults=values)[0]


def make_setup(week: date | None = None, **values: Any) -> Setup:
    """A published setup; without a week it stands until another is set."""
    return Setup.objects.create(week=week, **values)


def make_station(
    setup: Setup,
    code: str | None = None,
    *,
    variants: Iterable[Skill] = (),
    **values: Any,
) -> Station:
    """A station; ``variants`` are skills, one variant each at steps 0, 1, 2, ..."""
    code = code or f"station-{setup.stations.count() + 1}"
    values.setdefault("name", code.capitalize())
    station = Station.objects.create(setup=setup, code=code, **values)
    for step, skill in enumerate(variants):
        make_variant(station, skill, step=step)
    return station


def make_variant(
    station: Station,
    skill: Skill,
    code: str | None = None,
    *,
    step: int = 0,
    **values: Any,
) -> Variant:
    """One variant of ``station`` that practises ``skill``."""
    code = code or f"{station.code}{step:+d}"
    return Variant.objects.create(station=station, skill=skill, code=code, step=step, **values)


def make_loop(
    setup: Setup,
    code: str | None = None,
    *,
    stations: Iterable[Station] = (),
    area: Area | None = None,
    **values: Any,
) -> Loop:
    """A loop through ``stations`` in the order given."""
    code = code or f"loop-{setup.loops.count() + 1}"
    values.setdefault("name", code.capitalize())
    loop = Loop.objects.create(setup=setup, code=code, area=area or make_area(), **values)
    for position, station in enumerate(stations, start=1):
        LoopStop.objects.create(loop=loop, station=station, position=position)
    return loop
