"""Floors of one or several loops, written short."""

from collections.abc import Mapping, Sequence

from progress.engine.flow import flow_of, loads
from progress.engine.flow_terms import Flow, LoopLoad, StationFlow


def one_loop(
    seconds: Sequence[float],
    children: int,
    lanes: Sequence[int | None] | None = None,
    visits: Sequence[float] | None = None,
    walk: float = 0.0,
) -> Flow:
    """Stations "0", "1", ... of loop "a"; ``walk``: seconds of walking in a whole round."""
    lanes = lanes or [1] * len(seconds)
    visits = visits or [1.0] * len(seconds)
    stations = [
        StationFlow(str(at), many, {"a": each}, {"a": times})
        for at, (each, many, times) in enumerate(zip(seconds, lanes, visits, strict=True))
    ]
    return flow_of(stations, [LoopLoad("a", children, walk)])


def floor(
    stations: Mapping[str, tuple[int, Mapping[str, float]]],
    children: Mapping[str, int],
    walk_seconds: float = 5.0,
) -> tuple[list[StationFlow], tuple[LoopLoad, ...]]:
    """Stations as code: (lanes, seconds by loop); children by loop."""
    listed = [StationFlow(code, lanes, seconds) for code, (lanes, seconds) in stations.items()]
    return listed, loads(listed, children, walk_seconds)


def present(flow: Flow) -> list[float]:
    """Children at each station, in line or on it."""
    return [station.in_line + station.on_it for station in flow.stations]
