"""How long children will stand in line on the loops of a class's plan."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from progress.engine.closed_network import TooManyStates
from progress.engine.flow import flow_of, loads
from progress.engine.flow_remedies import FlowWarning, Remedy, remedies, warnings
from progress.engine.flow_terms import Flow, StationFlow
from progress.engine.rules import Rules
from progress.models import Loop, Station, Variant

USUAL_SECONDS = 20.0  # of a turn nobody has timed: common practice, no source


@dataclass(frozen=True)
class Lines:
    """``flow`` is None where there is nothing to work out, and ``why_not`` says why.

    ``stations``: what went in. ``guessed``: names of stations whose turns nobody has timed.
    """

    flow: Flow | None
    warnings: tuple[FlowWarning, ...]
    remedies: tuple[Remedy, ...]
    guessed: tuple[str, ...]
    why_not: str = ""
    stations: tuple[StationFlow, ...] = ()


@dataclass(frozen=True)
class Turn:
    """One child's turn at a station of a loop: the variant planned for it."""

    loop: str
    station: str
    variant: str


def lines_of(
    loops: Sequence[Loop], starts: Mapping[str, int], turns: Sequence[Turn], rules: Rules
) -> Lines:
    """Expected waits with ``starts`` children going round each loop, all loops at once.

    ``turns``: who is sent to what, of children on the loop they start on. A station counts with
    its roomiest variant in use: the lanes stand beside each other, and a turn takes the mean of
    the variants in use.
    """
    used = [loop for loop in loops if starts.get(loop.code) and loop.stops.all()]
    if not used:
        return Lines(None, (), (), (), "Nobody starts on a loop yet.")
    stations, guessed = _stations(used, turns)
    children = {loop.code: starts[loop.code] for loop in used}
    try:
        flow = flow_of(stations, loads(stations, children, rules.walk_seconds))
        told = warnings(flow, rules.least_active_share, rules.longest_wait)
        found = [
            remedy
            for loop in dict.fromkeys(warning.loop for warning in told)
            for remedy in remedies(stations, loads(stations, children, rules.walk_seconds), loop)
        ]
    except TooManyStates as error:
        return Lines(None, (), (), guessed, f"Waiting was not worked out: {error}.")
    return Lines(flow, told, tuple(found), guessed, stations=tuple(stations))


def _stations(
    loops: Sequence[Loop], turns: Sequence[Turn]
) -> tuple[list[StationFlow], tuple[str, ...]]:
    found: dict[str, Station] = {}
    on_loops: dict[str, list[str]] = {}
    for loop in loops:
        for stop in loop.stops.all():
            found[stop.station.code] = stop.station
            on_loops.setdefault(stop.station.code, []).append(loop.code)
    guessed: list[str] = []
    flows = []
    for code, station in found.items():
        variants = {variant.code: variant for variant in station.variants.all()}
        in_use = [variants[t.variant] for t in turns if t.station == code and t.variant in variants]
        if any(variant.seconds is None for variant in in_use or variants.values()):
            guessed.append(station.name)
        seconds = {
            loop: _seconds(
                [variants[t.variant] for t in turns if (t.loop, t.station) == (loop, code)]
                or list(variants.values())
            )
            for loop in on_loops[code]
        }
        lanes = max((variant.lanes for variant in in_use or variants.values()), default=1)
        flows.append(StationFlow(code, lanes, seconds))
    return flows, tuple(guessed)


def _seconds(variants: Sequence[Variant]) -> float:
    told = [variant.seconds or USUAL_SECONDS for variant in variants]
    return sum(told) / len(told) if told else USUAL_SECONDS
