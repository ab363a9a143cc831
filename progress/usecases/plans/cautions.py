"""Safety prompts about a floor and the group that uses it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from progress.engine import safety_facts as facts
from progress.engine.rules import Rules
from progress.engine.safety import prompts
from progress.models import Athlete, Loop, Mat, Station, StationKind, Variant

KINDS = {
    StationKind.BEAM: facts.Kind.BEAM,
    StationKind.BLOCKS: facts.Kind.BLOCKS,
    StationKind.VAULT: facts.Kind.VAULT,
    StationKind.BARS: facts.Kind.OVERHEAD,
    StationKind.OVERHEAD: facts.Kind.OVERHEAD,
    StationKind.WALL: facts.Kind.CLIMB,
    StationKind.CLIMB: facts.Kind.CLIMB,
    StationKind.ROPE: facts.Kind.ROPE,
    StationKind.SWING: facts.Kind.SWING,
    StationKind.DROP: facts.Kind.DROP,
}
MATS = {
    Mat.UNKNOWN: facts.Mat.UNKNOWN,
    Mat.NONE: facts.Mat.NONE,
    Mat.FIRM: facts.Mat.FIRM,
    Mat.DEEP_SOFT: facts.Mat.DEEP_SOFT,
}
ON_THE_FEET = {StationKind.JUMP, StationKind.VAULT, StationKind.DROP, StationKind.BLOCKS}


def cautions_of(
    loops: Sequence[Loop], group: facts.GroupFacts, rules: Rules, today: date
) -> tuple[facts.Prompt, ...]:
    """Every prompt about these loops and this group, the most serious first.

    No prompt about a thing is no all-clear for it: show the engine's closing words with them.
    """
    return prompts(list(stations_of(loops, today)), group, limits_of(rules))


def limits_of(rules: Rules) -> facts.SafetyLimits:
    """The limits a lead may tune, in the words of the prompts."""
    return facts.SafetyLimits(
        ratios=rules.ratios,
        least_adults=rules.least_adults,
        children_at_station=rules.children_per_lane,
        mat_check_days=rules.mat_check_days,
    )


def group_of(
    athletes: Sequence[Athlete], adults: int | None, day: date, at: Mapping[str, int]
) -> facts.GroupFacts:
    """The children present, the youngest's age where every age is known, and the adults.

    ``at``: children expected at a station at one time, by station code.
    """
    ages = [athlete.age_on(day) for athlete in athletes]
    known = [age for age in ages if age is not None]
    youngest = min(known) if known and len(known) == len(ages) else None
    return facts.GroupFacts(len(athletes), youngest, adults, dict(at))


def stations_of(loops: Iterable[Loop], today: date) -> Iterable[facts.StationFacts]:
    """Each station once, with the loops that come to it; stops and variants must be prefetched."""
    found: dict[str, Station] = {}
    on_loops: dict[str, list[str]] = {}
    for loop in loops:
        for stop in loop.stops.all():
            found[stop.station.code] = stop.station
            on_loops.setdefault(stop.station.code, []).append(loop.code)
    for code, station in found.items():
        yield station_facts(station, today, tuple(on_loops[code]))


def station_facts(station: Station, today: date, loops: tuple[str, ...] = ()) -> facts.StationFacts:
    """What is written down of a station, in the engine's words."""
    checked = station.mat_checked
    return facts.StationFacts(
        code=station.code,
        name=station.name,
        kind=KINDS.get(StationKind(station.kind), facts.Kind.OTHER),
        mat=MATS[Mat(station.mat)],
        mat_rated_m=station.mat_rated_m,
        mat_checked_days=max((today - checked).days, 0) if checked else None,
        clear_zone_m=station.clear_m,
        spacing_m=station.spacing_m,
        swing_run_m=station.swing_m,
        way_down=station.way_down,
        variants=tuple(_variant_facts(station, variant) for variant in station.variants.all()),
        loops=loops,
    )


def _variant_facts(station: Station, variant: Variant) -> facts.VariantFacts:
    return facts.VariantFacts(
        code=variant.code,
        name=variant.name,
        height_m=variant.height_m,
        hand_height_m=variant.hand_height_m,
        lands_on_feet=True if station.kind in ON_THE_FEET else None,
    )
