"""Storing the floors of the weeks that floor.csv names."""

from typing import Any

from progress.models import Area, Loop, LoopStop, Setup, Skill, Station, Variant
from progress.usecases.folders.floor_changes import FloorChange
from progress.usecases.folders.plans import DEFAULT_AREA, SetupPlan
from progress.usecases.folders.tally import Made


def store_floor(changes: list[FloorChange], made: Made) -> None:
    """Store new floors and put changed ones in the place of those stored before.

    Floors that attempts point at are refused before, so nothing that an attempt needs is taken
    away. Runs inside the caller's transaction.
    """
    changed = [change for change in changes if not change.same]
    areas = make_areas([change.plan for change in changed], made)
    skills = dict(Skill.objects.order_by().values_list("code", "pk"))
    for change in changed:
        kept = beyond_the_format(change.stored) if change.stored else {}
        setup = change.stored or Setup(week=change.plan.week)
        setup.published = True
        setup.save()
        setup.loops.all().delete()
        setup.stations.all().delete()
        stations = make_stations(setup, change.plan, kept, skills)
        make_loops(setup, change.plan, kept, stations, areas)


def beyond_the_format(setup: Setup) -> dict[tuple[str, ...], dict[str, Any]]:
    """What the records say of parts of a floor and the file cannot, by the codes of the part.

    A part that comes back under the same code gets it again; a youngest age must not get lost
    because a lane was added.
    """
    kept: dict[tuple[str, ...], dict[str, Any]] = {}
    for loop in setup.loops.all():
        kept["loop", loop.code] = {"name": loop.name}
    for station in setup.stations.all():
        kept["station", station.code] = {"name": station.name}
        for variant in station.variants.all():
            kept["variant", station.code, variant.code] = {
                "name": variant.name,
                "places": variant.places,
                "minimum_age": variant.minimum_age,
            }
    return kept


def make_areas(plans: list[SetupPlan], made: Made) -> dict[str, int]:
    """Make the areas that are missing."""
    named = {loop.area or DEFAULT_AREA for plan in plans for loop in plan.loops}
    missing = sorted(named - set(Area.objects.values_list("code", flat=True)))
    Area.objects.bulk_create(
        Area(code=code, name="Main area" if code == DEFAULT_AREA else code) for code in missing
    )
    made.note("area", missing)
    return dict(Area.objects.order_by().values_list("code", "pk"))


def make_stations(
    setup: Setup,
    plan: SetupPlan,
    kept: dict[tuple[str, ...], dict[str, Any]],
    skills: dict[str, int],
) -> dict[str, int]:
    """Store the stations with their variants; return the stations' keys by code."""
    Station.objects.bulk_create(
        Station(
            setup=setup,
            code=station.code,
            **{"name": station.code, **kept.get(("station", station.code), {})},
        )
        for station in plan.stations
    )
    keys = dict(setup.stations.order_by().values_list("code", "pk"))
    Variant.objects.bulk_create(
        Variant(
            station_id=keys[station.code],
            code=variant.code,
            step=variant.step,
            skill_id=skills[variant.skill],
            difficulty=variant.difficulty,
            height_m=variant.height_m,
            spotter=variant.spotter,
            lanes=variant.lanes,
            seconds=variant.seconds,
            change=variant.change,
            caution=variant.caution,
            **kept.get(("variant", station.code, variant.code), {}),
        )
        for station in plan.stations
        for variant in station.variants
    )
    return keys


def make_loops(
    setup: Setup,
    plan: SetupPlan,
    kept: dict[tuple[str, ...], dict[str, Any]],
    stations: dict[str, int],
    areas: dict[str, int],
) -> None:
    """Store the loops and where they stop."""
    Loop.objects.bulk_create(
        Loop(
            setup=setup,
            code=loop.code,
            area_id=areas[loop.area or DEFAULT_AREA],
            order=order,
            **{"name": loop.code, **kept.get(("loop", loop.code), {})},
        )
        for order, loop in enumerate(plan.loops)
    )
    keys = dict(setup.loops.order_by().values_list("code", "pk"))
    LoopStop.objects.bulk_create(
        LoopStop(loop_id=keys[loop.code], station_id=stations[station], position=position)
        for loop in plan.loops
        for position, station in loop.stops
    )
