"""Prompts about a floor before a class: what to look at, never a verdict that all is well.

Every prompt names its source and how well it is known. Figures for public playgrounds are only an
analogy for a supervised hall. Standards cost money and were not read in full: no prompt and no
missing prompt means that anything complies with one.
"""

from collections.abc import Iterator, Sequence
from math import ceil, floor

from progress.engine.safety_facts import (
    CPSU_LEAST_ADULTS,
    CPSU_RATIOS,
    GroupFacts,
    Kind,
    Mat,
    Prompt,
    SafetyLimits,
    Severity,
    StationFacts,
    Status,
)
from progress.engine.safety_heights import HEIGHT_RULES, MAT_FROM_M, needs_way_down
from progress.engine.safety_rules import Case, less
from progress.engine.safety_spaces import SPACE_RULES, SWINGING

CLOSING = (
    "These are prompts only, and what is not listed may still be wrong. The equipment maker, the "
    "local code and a qualified person decide."
)
ANALOGY = "A playground figure: only an analogy for a supervised hall."
RULES = (*HEIGHT_RULES, *SPACE_RULES)
OFF_THE_FLOOR = (Kind.BEAM, Kind.OVERHEAD, Kind.CLIMB, Kind.SWING, Kind.ROPE, Kind.DROP)
_ORDER = list(Severity)


def prompts(
    stations: Sequence[StationFacts], group: GroupFacts, limits: SafetyLimits | None = None
) -> tuple[Prompt, ...]:
    """All prompts about this floor and this group; show ``CLOSING`` with them, and
    ``ANALOGY`` beside those that are one.

    Ordered by severity, STOP first; then the group, then stations as given, then rules in a fixed
    order. At most one prompt a station, and one for the group, lists what is not written down.
    """
    limits = limits or SafetyLimits()
    found = [*_too_few_adults(group, limits), *_missing_of_group(group)]
    for station in stations:
        case = Case(station, group, limits)
        for rule in RULES:
            found.extend(rule.prompts(case))
        found.extend(_missing_at(case))
    return tuple(sorted(found, key=lambda prompt: _ORDER.index(prompt.severity)))


def adults_needed(
    children: int, youngest_age: float | None, limits: SafetyLimits | None = None
) -> int:
    """Least adults for a group: by the band of the youngest child, and never below the least.

    max(least adults, children / children per adult, rounded up); 0 without children. The formula
    is a proposal of this project. Without an age the most lenient band is taken: at least that.
    """
    limits = limits or SafetyLimits()
    if not children:
        return 0
    return max(limits.least_adults, ceil(children / _children_per_adult(youngest_age, limits)))


def _children_per_adult(youngest_age: float | None, limits: SafetyLimits) -> int:
    if youngest_age is None:
        return max(ratio.children_per_adult for ratio in limits.ratios)
    years = floor(youngest_age)
    fitting = [ratio for ratio in limits.ratios if years <= ratio.up_to_age]
    return (fitting or limits.ratios[-1:])[0].children_per_adult


def _too_few_adults(group: GroupFacts, limits: SafetyLimits) -> Iterator[Prompt]:
    needed = adults_needed(group.children, group.youngest_age, limits)
    if group.adults is None or group.adults >= needed:
        return
    age = group.youngest_age
    youngest = "the youngest of unknown age" if age is None else f"the youngest {floor(age)}"
    each = _children_per_adult(age, limits)
    own = limits.ratios != CPSU_RATIOS or limits.least_adults != CPSU_LEAST_ADULTS
    yield Prompt(
        severity=Severity.STOP,
        rule="too-few-adults",
        text=(
            f"Adults {group.adults} for {group.children} children, {youngest}: at least {needed} "
            f"(one for {each} children, never fewer than {limits.least_adults})."
        ),
        todo="Bring in another adult, or make the group smaller.",
        source="this programme's own ratios" if own else "NSPCC Child Protection in Sport Unit",
        status=Status.OWN if own else Status.READ,
        analogy=False,
        found=group.adults,
        compared=needed,
    )


def _missing_of_group(group: GroupFacts) -> Iterator[Prompt]:
    facts = {"the youngest child's age": group.youngest_age, "the adults present": group.adults}
    missing = [name for name, value in facts.items() if value is None]
    if group.children and missing:
        yield _not_written_down(missing, Severity.WARN, "Fill it in before the class.")


def _missing_at(case: Case) -> Iterator[Prompt]:
    """One prompt that lists every fact whose lack kept a rule from being checked."""
    missing = [*_heights_missing(case.station), *_mat_missing(case), *_spaces_missing(case)]
    if missing:
        serious = case.station.kind in OFF_THE_FLOOR or not less(case.feet_m, MAT_FROM_M)
        yield _not_written_down(
            missing,
            Severity.WARN if serious else Severity.INFO,
            "Measure it; ask the maker for what the mat is rated for.",
            case.station,
        )


def _heights_missing(station: StationFacts) -> Iterator[str]:
    blank = [v.name or v.code for v in station.variants if v.height_m is None]
    if blank or not station.variants:
        yield "how high the feet are" + (f" ({', '.join(blank)})" if blank else "")
    if station.kind is Kind.OVERHEAD and any(v.hand_height_m is None for v in station.variants):
        yield "how high the grip is"


def _mat_missing(case: Case) -> Iterator[str]:
    station = case.station
    if station.mat is Mat.DEEP_SOFT and any(v.lands_on_feet is None for v in station.variants):
        yield "whether children land on their feet"
    if station.mat in (Mat.FIRM, Mat.DEEP_SOFT) and not less(case.feet_m, MAT_FROM_M):
        if station.mat_rated_m is None:
            yield "the mat's rated height"
        if station.mat_checked_days is None:
            yield "when the mat was last looked over"


def _spaces_missing(case: Case) -> Iterator[str]:
    station = case.station
    if station.way_down is None and needs_way_down(case):
        yield "the way down"
    if station.kind in SWINGING and station.swing_run_m is None:
        yield "the free space in the way of the swing"
    if not less(case.feet_m, MAT_FROM_M):
        if station.clear_zone_m is None:
            yield "the free landing space"
        if station.spacing_m is None:
            yield "how far the next piece is"


def _not_written_down(
    missing: Sequence[str], severity: Severity, todo: str, station: StationFacts | None = None
) -> Prompt:
    return Prompt(
        severity=severity,
        rule="missing-facts",
        text=f"Not written down, so not looked at: {'; '.join(missing)}.",
        todo=todo,
        source="no source",
        status=Status.PROPOSAL,
        analogy=False,
        station=station.code if station else None,
        loops=station.loops if station else (),
    )
