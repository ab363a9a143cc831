"""The floor of a week as a plain value, so that a file and the records can be compared."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db.models import Prefetch

from progress.models import Loop, LoopStop, Setup, Station, Variant
from progress.usecases.folders.texts import tidied

DEFAULT_AREA = "main"


@dataclass(frozen=True)
class VariantPlan:
    """A variant as a row of floor.csv states it."""

    code: str
    step: int
    skill: str
    difficulty: float | None
    height_m: float | None
    spotter: bool
    lanes: int
    seconds: float | None
    change: str
    caution: str


@dataclass(frozen=True)
class StationPlan:
    """A station with its variants, easiest first."""

    code: str
    variants: tuple[VariantPlan, ...]


@dataclass(frozen=True)
class LoopPlan:
    """A loop: its area (None where the file leaves it open) and its (position, station) stops."""

    code: str
    area: str | None
    stops: tuple[tuple[int, str], ...]


@dataclass(frozen=True)
class SetupPlan:
    """What floor.csv can say of one week: loops in their order, stations by code."""

    week: date | None
    loops: tuple[LoopPlan, ...]
    stations: tuple[StationPlan, ...]

    def in_areas_of(self, stored: "SetupPlan | None") -> "SetupPlan":
        """This plan with open areas filled: as the same loop is stored, else the main area."""
        areas = {loop.code: loop.area for loop in stored.loops} if stored else {}
        filled = (
            replace(loop, area=loop.area or areas.get(loop.code) or DEFAULT_AREA)
            for loop in self.loops
        )
        return replace(self, loops=tuple(filled))


def stored_setups(weeks: Iterable[date | None] | None = None) -> list[Setup]:
    """Setups with all that ``plan_of`` needs: these weeks' own, or every published one.

    The undated setup is the published one; drafts without a week are never met by a file.
    """
    # Joined rather than fetched ahead: SQLite cannot be asked for a thousand single records by key.
    setups = Setup.objects.prefetch_related(
        Prefetch("loops", Loop.objects.select_related("area")),
        Prefetch("loops__stops", LoopStop.objects.select_related("station")),
        Prefetch("stations__variants", Variant.objects.select_related("skill")),
    )
    if weeks is None:
        return list(setups.filter(published=True))
    asked = set(weeks)
    chosen = list(setups.filter(week__in=asked - {None}))
    if None in asked:
        chosen += setups.filter(week__isnull=True, published=True)
    return chosen


def plan_of(setup: Setup) -> SetupPlan:
    """The stored setup as floor.csv would say it.

    Stations without variants and loops without stops have no row in the file, so they are not in
    the plan either.
    """
    stations = tuple(
        plan
        for station in sorted(setup.stations.all(), key=lambda station: station.code)
        if (plan := station_plan(station)).variants
    )
    standing = {station.code for station in stations}
    loops = sorted(setup.loops.all(), key=lambda loop: (loop.order, loop.code))
    planned = (loop_plan(loop, standing) for loop in loops)
    kept = tuple(loop for loop in planned if loop.stops)
    reached = {station for loop in kept for _, station in loop.stops}
    return SetupPlan(
        setup.week, kept, tuple(station for station in stations if station.code in reached)
    )


def loop_plan(loop: Loop, standing: set[str]) -> LoopPlan:
    """A stored loop with its stops at standing stations."""
    stops = sorted((stop.position, stop.station.code) for stop in loop.stops.all())
    return LoopPlan(loop.code, loop.area.code, tuple(stop for stop in stops if stop[1] in standing))


def station_plan(station: Station) -> StationPlan:
    """A stored station with its variants."""
    variants = (
        VariantPlan(
            code=variant.code,
            step=variant.step,
            skill=variant.skill.code,
            difficulty=variant.difficulty,
            height_m=variant.height_m,
            spotter=variant.spotter,
            lanes=variant.lanes,
            seconds=variant.seconds,
            change=variant.change,
            caution=tidied(variant.caution),
        )
        for variant in station.variants.all()
    )
    return StationPlan(station.code, in_order(variants))


def in_order(variants: Iterable[VariantPlan]) -> tuple[VariantPlan, ...]:
    """Variants easiest first."""

    def place(variant: VariantPlan) -> tuple[Any, ...]:
        return (variant.step, variant.code)

    return tuple(sorted(variants, key=place))
