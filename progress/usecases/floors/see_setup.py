"""A coach opens a setup: its areas, loops and stations, and what may be done with it."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

from django.db.models import Prefetch

from progress.models import Area, Loop, LoopStop, Setup, Station, Variant
from progress.usecases.floors.changes import is_used, monday_of
from progress.usecases.floors.find_problems import Problem, find_problems


@dataclass(frozen=True)
class StopSeen:
    """A station at its place on a loop; ``shared_with`` are the names of other loops."""

    station: Station
    variants: tuple[Variant, ...]
    position: int
    is_last: bool
    shared_with: tuple[str, ...]


@dataclass(frozen=True)
class LoopSeen:
    """A loop with its stops in order; ``elsewhere`` are the loops a station may move to."""

    loop: Loop
    stops: tuple[StopSeen, ...]
    elsewhere: tuple[Loop, ...] = ()


@dataclass(frozen=True)
class AreaSeen:
    """A part of the hall with its loops."""

    area: Area
    loops: tuple[LoopSeen, ...]


@dataclass(frozen=True)
class SetupSeen:
    """A setup as the builder shows it.

    ``may_change``: it is a draft nobody has used. ``may_take_back``: published, not used, not past.
    ``may_change_from_today``: published and used, and its week is not past. ``aside`` are stations
    no loop stops at. ``problems`` stand in the way of publishing it.
    """

    setup: Setup
    areas: tuple[AreaSeen, ...]
    aside: tuple[StopSeen, ...]
    problems: tuple[Problem, ...]
    used: bool
    past: bool
    stations: int = field(default=0)

    @property
    def loops(self) -> tuple[LoopSeen, ...]:
        """All loops, area by area."""
        return tuple(loop for area in self.areas for loop in area.loops)

    @property
    def may_change(self) -> bool:
        """Whether it is a draft nobody has used."""
        return self.setup.is_draft and not self.used

    @property
    def may_take_back(self) -> bool:
        """Whether it can be made a draft again."""
        return self.setup.published and not self.used and not self.past

    @property
    def may_change_from_today(self) -> bool:
        """Whether a changed copy may take its place."""
        return self.setup.published and self.used and not self.past


def see_setup(*, setup: Setup, today: date) -> SetupSeen:
    """A setup with all the builder shows. Six queries, however many stations stand."""
    variants = Variant.objects.select_related("skill").order_by("step", "code")
    stations = list(
        Station.objects.filter(setup=setup)
        .order_by("pk")
        .prefetch_related(Prefetch("variants", variants))
    )
    loops = list(
        Loop.objects.filter(setup=setup)
        .select_related("area")
        .order_by("area__small", "area__name", "order", "code")
    )
    by_key = {station.pk: station for station in stations}
    orders: dict[int, list[Station]] = {loop.pk: [] for loop in loops}
    stops = LoopStop.objects.filter(loop__setup=setup).order_by("loop", "position")
    for loop, station in stops.values_list("loop_id", "station_id"):
        orders[loop].append(by_key[station])
    seen = _loops_seen(loops, orders)
    met = {station.pk for order in orders.values() for station in order}
    return SetupSeen(
        setup=setup,
        areas=tuple(
            AreaSeen(area, tuple(one for one in seen if one.loop.area_id == area.pk))
            for area in Area.objects.order_by("small", "name")
        ),
        aside=tuple(
            StopSeen(one, tuple(one.variants.all()), 0, True, ())
            for one in stations
            if one.pk not in met
        ),
        problems=tuple(find_problems([(loop, orders[loop.pk]) for loop in loops])),
        used=is_used(setup),
        past=_is_past(setup, today),
        stations=len(met),
    )


def _loops_seen(loops: Sequence[Loop], orders: dict[int, list[Station]]) -> list[LoopSeen]:
    on: dict[int, list[Loop]] = {}
    for loop in loops:
        for station in orders[loop.pk]:
            on.setdefault(station.pk, []).append(loop)
    seen = []
    for loop in loops:
        order = orders[loop.pk]
        stops = tuple(
            StopSeen(
                station,
                tuple(station.variants.all()),
                position,
                position == len(order),
                tuple(str(other) for other in on[station.pk] if other is not loop),
            )
            for position, station in enumerate(order, start=1)
        )
        others = tuple(other for other in loops if other is not loop)
        seen.append(LoopSeen(loop, stops, others))
    return seen


def _is_past(setup: Setup, today: date) -> bool:
    if setup.stood_in:
        return True
    return setup.week is not None and setup.week < monday_of(today)
