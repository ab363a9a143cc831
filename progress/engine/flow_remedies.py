"""What to say about waits on a floor, and what a change would do to them.

Every figure comes from ``flow_of``. Waits are the longer of those with uneven turns and with turns
all alike, active shares are those with uneven turns: both lean to the careful side.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from progress.engine.flow import flow_of
from progress.engine.flow_terms import Flow, LoopLoad, LoopRound, StationFlow, StationWait

SHORTER = 0.75  # a turn a quarter shorter
MOVED = 2  # children moved at a time
HAIR = 1e-9  # what rounding alone may add


class RemedyKind(StrEnum):
    """A change a coach can make to a floor."""

    LANE = "lane"
    SHORTER = "shorter"
    MOVE = "move"
    OFF = "off"


@dataclass(frozen=True)
class Effect:
    """``wait``: a loop's ``wait_to_plan_for`` in seconds; its ``active_share``, 0-1."""

    wait: float
    active_share: float


@dataclass(frozen=True)
class Remedy:
    """One change and what it does to ``loop``.

    LANE: one more lane at ``station``. SHORTER: turns there a quarter shorter, for all who come.
    MOVE: ``children`` of them go to ``other_loop``. OFF: ``children`` of them do something else.
    ``other_before`` and ``other_after`` tell what a move does to the loop they go to.
    """

    kind: RemedyKind
    loop: str
    before: Effect
    after: Effect
    station: str | None = None
    children: int = 0
    other_loop: str | None = None
    other_before: Effect | None = None
    other_after: Effect | None = None


class FlowWarningKind(StrEnum):
    """Which of the two limits is passed."""

    ACTIVE = "active"
    WAIT = "wait"


@dataclass(frozen=True)
class FlowWarning:
    """ACTIVE: a loop's active share ``found`` below ``limit``; ``if_even``: with turns all alike.

    WAIT: seconds in line before a turn at ``station`` above ``limit`` for the children of a loop,
    the longer of those with uneven turns and with turns all alike (``if_even``).
    """

    kind: FlowWarningKind
    loop: str
    station: str | None
    found: float
    limit: float
    if_even: float


def warnings(flow: Flow, least_active_share: float, longest_wait: float) -> tuple[FlowWarning, ...]:
    """What passes the limits: by loop, first its active share, then its waits, longest first.

    ``least_active_share`` 0-1, ``longest_wait`` seconds. A figure at a limit is within it. Loops
    without children have nobody to warn about. Both limits are the lead's choice, not research.
    """
    found: list[FlowWarning] = []
    for loop in flow.loops:
        if not loop.children:
            continue
        if loop.active_share < least_active_share - HAIR:
            found.append(
                FlowWarning(
                    FlowWarningKind.ACTIVE,
                    loop.code,
                    None,
                    found=loop.active_share,
                    limit=least_active_share,
                    if_even=loop.even_active_share,
                )
            )
        waits = [_wait_at(station, loop, longest_wait) for station in flow.stations]
        long = [wait for wait in waits if wait.found > longest_wait + HAIR]
        found.extend(sorted(long, key=lambda warning: -warning.found))
    return tuple(found)


def _wait_at(station: StationWait, loop: LoopRound, limit: float) -> FlowWarning:
    even = loop.even_wait if station.code == loop.bottleneck else 0.0
    longest = max(station.wait_by_loop.get(loop.code, 0.0), even)
    return FlowWarning(FlowWarningKind.WAIT, loop.code, station.code, longest, limit, even)


def remedies(
    stations: Sequence[StationFlow], loops: Sequence[LoopLoad], loop: str
) -> tuple[Remedy, ...]:
    """What each change would do for one loop, the greatest gain in active share first.

    Changes that would leave nobody on the loop, or that have nowhere to take place, are left out.
    KeyError for a loop not among ``loops``.
    """
    before = flow_of(stations, loops)
    found = [
        *_at_the_bottleneck(stations, loops, before, loop),
        *_with_fewer(stations, loops, before, loop),
    ]
    return tuple(sorted(found, key=lambda remedy: -remedy.after.active_share))


def _effect(flow: Flow, loop: str) -> Effect:
    line = flow.loop(loop)
    return Effect(line.wait_to_plan_for, line.active_share)


def _at_the_bottleneck(
    stations: Sequence[StationFlow], loops: Sequence[LoopLoad], before: Flow, loop: str
) -> Iterator[Remedy]:
    code = before.loop(loop).bottleneck
    for station in stations:
        if station.code != code or station.lanes is None:
            continue
        seconds = {name: SHORTER * each for name, each in station.seconds_by_loop.items()}
        for kind, instead in (
            (RemedyKind.LANE, replace(station, lanes=station.lanes + 1)),
            (RemedyKind.SHORTER, replace(station, seconds_by_loop=seconds)),
        ):
            after = flow_of([instead if s is station else s for s in stations], loops)
            yield Remedy(kind, loop, _effect(before, loop), _effect(after, loop), station=code)


def _with_fewer(
    stations: Sequence[StationFlow], loops: Sequence[LoopLoad], before: Flow, loop: str
) -> Iterator[Remedy]:
    moved = min(MOVED, before.loop(loop).children - 1)
    if moved < 1:
        return
    gone = _changed(loops, {loop: -moved})
    after = flow_of(stations, gone)
    mine = _effect(before, loop)
    yield Remedy(RemedyKind.OFF, loop, mine, _effect(after, loop), children=moved)
    moves = [
        Remedy(
            RemedyKind.MOVE,
            loop,
            mine,
            _effect(after, loop),
            children=moved,
            other_loop=other.code,
            other_before=_effect(before, other.code),
            other_after=_effect(after, other.code),
        )
        for other in loops
        if other.code != loop
        for after in [flow_of(stations, _changed(loops, {loop: -moved, other.code: moved}))]
    ]
    # Of several loops to move to, the one that leaves the busier of the two best off.
    yield from sorted(moves, key=_worse_off, reverse=True)[:1]


def _worse_off(move: Remedy) -> float:
    other = move.other_after.active_share if move.other_after else 1.0
    return min(move.after.active_share, other)


def _changed(loops: Sequence[LoopLoad], by: dict[str, int]) -> list[LoopLoad]:
    return [replace(load, children=load.children + by.get(load.code, 0)) for load in loops]
