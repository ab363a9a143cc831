"""The waiting lines in words, with a plain bar a station."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from progress.engine.flow_remedies import Effect, FlowWarning, FlowWarningKind, Remedy, RemedyKind
from progress.engine.flow_terms import Flow, LoopRound
from progress.models import Loop
from progress.pages.plans.moved import Naming
from progress.pages.plans.sections import stations_in_order
from progress.pages.shared.words import percent
from progress.usecases.plans.lines import Lines
from progress.usecases.see_class import ClassTonight

WIDTH = 200  # of a bar, in its own units
MOST_REMEDIES = 3


@dataclass(frozen=True)
class Bar:
    """A station's turn and the line before it: seconds, and lengths to draw."""

    name: str
    turn: str
    wait: str
    turn_width: int
    wait_width: int
    busiest: bool


@dataclass(frozen=True)
class LoopWaits:
    """One loop's round in words; ``round`` has the figures, ``guessed`` the untimed stations."""

    loop: Loop
    round: LoopRound
    seconds_in_line: str
    active: str
    active_if_even: str
    longest: str
    longest_at: str
    bottleneck: str
    bars: tuple[Bar, ...]
    warnings: tuple[str, ...]
    remedies: tuple[str, ...]
    guessed: tuple[str, ...]


def waits_of(tonight: ClassTonight, lines: Lines) -> list[LoopWaits]:
    """Every loop that somebody starts on, in the order of the floor."""
    if lines.flow is None:
        return []
    loops = {loop.code: loop for loop in tonight.loops}
    naming = Naming.of(tonight)
    return [_of_loop(naming, loops[one.code], one, lines.flow, lines) for one in lines.flow.loops]


def _of_loop(naming: Naming, loop: Loop, one: LoopRound, flow: Flow, lines: Lines) -> LoopWaits:
    guessed = {station.name for station in stations_in_order(loop)} & set(lines.guessed)
    remedies = [remedy for remedy in lines.remedies if remedy.loop == loop.code and _helps(remedy)]
    return LoopWaits(
        loop=loop,
        round=one,
        seconds_in_line=seconds(one.wait_seconds),
        active=percent(one.active_share),
        active_if_even=percent(one.even_active_share),
        longest=seconds(one.wait_to_plan_for),
        longest_at=_longest_at(naming, one),
        bottleneck=naming.station(one.bottleneck) if one.bottleneck else "",
        bars=tuple(_bars(loop, one, flow, lines)),
        warnings=tuple(_warned(naming, w) for w in lines.warnings if w.loop == loop.code),
        remedies=tuple(_remedy(naming, remedy) for remedy in remedies[:MOST_REMEDIES]),
        guessed=tuple(sorted(guessed)),
    )


def _longest_at(naming: Naming, one: LoopRound) -> str:
    even = one.even_wait > one.longest_wait and one.bottleneck
    return naming.station(one.bottleneck if even and one.bottleneck else one.longest_wait_at)


def _bars(loop: Loop, one: LoopRound, flow: Flow, lines: Lines) -> Iterator[Bar]:
    turns = {station.code: station.turn_seconds(loop.code) for station in lines.stations}
    found = []
    for station in stations_in_order(loop):
        wait = flow.station(station.code).wait_by_loop.get(loop.code, 0.0)
        found.append((station, turns[station.code], wait))
    longest = max(turn + wait for _, turn, wait in found)
    for number, (station, turn, wait) in enumerate(found, start=1):
        yield Bar(
            f"{number}. {station}",
            seconds(turn),
            seconds(wait),
            _width(turn, longest),
            _width(wait, longest),
            station.code == one.bottleneck,
        )


def _width(length: float, longest: float) -> int:
    return round(WIDTH * length / longest)


def seconds(number: float) -> str:
    """``35 s``; ``2 min 10 s`` from two minutes; half a second and more counts as one."""
    whole = round(number)
    if whole < 120:
        return f"{whole} s"
    return f"{whole // 60} min {whole % 60} s" if whole % 60 else f"{whole // 60} min"


def _warned(naming: Naming, warning: FlowWarning) -> str:
    if warning.kind is FlowWarningKind.ACTIVE:
        even = "" if warning.if_even < warning.limit else ", though not if turns were all alike"
        return f"Below {percent(warning.limit)} of the time active: {percent(warning.found)}{even}."
    where = naming.station(warning.station or "")
    # Rounded up, so that a figure above the limit never reads as the limit.
    return f"Above {seconds(warning.limit)} in line before {where}: {seconds(ceil(warning.found))}."


def _helps(remedy: Remedy) -> bool:
    return round(100 * remedy.after.active_share) > round(100 * remedy.before.active_share)


def _remedy(naming: Naming, remedy: Remedy) -> str:
    where = naming.station(remedy.station or "")
    children = f"{remedy.children} child{'' if remedy.children == 1 else 'ren'}"
    what = {
        RemedyKind.LANE: f"One more lane at {where}",
        RemedyKind.SHORTER: f"Turns a quarter shorter at {where}",
        RemedyKind.MOVE: f"{children} over to {naming.loop(remedy.other_loop or '')}",
        RemedyKind.OFF: f"{children} at something beside the loop, in turns",
    }[remedy.kind]
    words = f"{what}: {_effect(remedy.before, remedy.after)}"
    if remedy.other_before and remedy.other_after:
        other = naming.loop(remedy.other_loop or "")
        words += f"; on {other} {_effect(remedy.other_before, remedy.other_after)}"
    return f"{words}."


def _effect(before: Effect, after: Effect) -> str:
    return (
        f"longest wait {seconds(before.wait)} → {seconds(after.wait)}, "
        f"active {percent(before.active_share)} → {percent(after.active_share)}"
    )
