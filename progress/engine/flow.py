"""How long children stand in line on loops.

Each loop is a class of children who go round and round; a station may serve several loops, and
who comes first goes first. Turns are taken as exponential (their spread as large as their mean);
then the means are exact, see closed_network.py. Real turns are more even, so each loop also gets
what it would be with turns all alike, and the truth lies between. Figures held
in test_flow_simulated.py: 8 children, one lane each at turns of 12, 20, 15 and 24 s, walks of 5 s:

    spread of a turn (of its mean)     as said here   50%    20%    all alike
    seconds in line in a round         126            102    101    101
    share of time active               0.33           0.37   0.37   0.37
    wait before the 24 s turn          67             78     99     101

So even turns mean **less** standing in all, and **more** of it at the bottleneck: a longest wait
is the larger of the two. With as many children as stations and turns alike, even turns need
hardly any waiting (6 s a round instead of 51). At a single station without walking the spread makes
no difference: the wait is children x turn / lanes - turn.

Where loops with turns of different length share a station no exact answer is known. The line there
is worked out with the mean turn of all who come, and the rest of a turn is time away from the
line. On 40 random floors of two loops with turns of 8 to 40 s and spread as large as their mean,
nine rounds in ten were within 6% of simulated ones, the worst 14% off.
"""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from progress.engine.closed_network import mean_values
from progress.engine.flow_terms import Flow, LoopLoad, LoopRound, StationFlow, StationWait
from progress.engine.outcomes import Floats

MOST_ROUNDS = 50  # of the search for the mean turn at a shared station; a few suffice


def loads(
    stations: Sequence[StationFlow], children: Mapping[str, int], walk_seconds: float
) -> tuple[LoopLoad, ...]:
    """Loops with their children, walking ``walk_seconds`` to each station of a round."""
    return tuple(
        LoopLoad(loop, count, walk_seconds * sum(station.visits(loop) for station in stations))
        for loop, count in children.items()
    )


def flow_of(stations: Sequence[StationFlow], loops: Sequence[LoopLoad]) -> Flow:
    """Expected waits and active shares with everybody going round for a long time.

    A loop without children still gets its round, with nobody to wait for. Stations of loops that
    are not named stand idle. Raises ValueError for a code named twice or a loop without
    stations, and ``TooManyStates`` (a ValueError) where too many loops share stations.
    """
    _check(stations, loops)
    line = np.zeros((len(loops), len(stations)))
    rounds = np.zeros(len(loops))
    for rows in _sharing(stations, loops):
        _solve(stations, loops, rows, line, rounds)
    found = tuple(
        _station_wait(station, loops, line[:, at], rounds) for at, station in enumerate(stations)
    )
    lines = tuple(
        _loop_round(load, loops, stations, line[row], found) for row, load in enumerate(loops)
    )
    return Flow(found, lines, _busiest(stations, found))


def _check(stations: Sequence[StationFlow], loops: Sequence[LoopLoad]) -> None:
    for what, codes in (
        ("station", [station.code for station in stations]),
        ("loop", [load.code for load in loops]),
    ):
        twice = {code for code in codes if codes.count(code) > 1}
        if twice:
            raise ValueError(f"{what} named twice: {', '.join(sorted(twice))}")
    for load in loops:
        if not any(load.code in station.seconds_by_loop for station in stations):
            raise ValueError(f"loop {load.code} has no stations")


def _sharing(stations: Sequence[StationFlow], loops: Sequence[LoopLoad]) -> Iterator[list[int]]:
    """Rows of loops with children, those that share lanes together: others do not affect them."""
    left = [row for row, load in enumerate(loops) if load.children]
    while left:
        group, new = [], [left.pop(0)]
        while new:
            group += new
            codes = {loops[row].code for row in new}
            shared = [s for s in stations if s.lanes and not codes.isdisjoint(s.seconds_by_loop)]
            new = [row for row in left if any(loops[row].code in s.seconds_by_loop for s in shared)]
            left = [row for row in left if row not in new]
        yield sorted(group)


def _solve(
    stations: Sequence[StationFlow],
    loops: Sequence[LoopLoad],
    rows: Sequence[int],
    line: Floats,
    rounds: Floats,
) -> None:
    """Fill in the seconds in line a round and the rounds a second of these loops."""
    group = [loops[row] for row in rows]
    children = [load.children for load in group]
    limited = [at for at, station in enumerate(stations) if station.lanes is not None]
    lanes = [station.lanes for station in stations if station.lanes is not None]
    visits = np.array([[stations[at].visits(load.code) for at in limited] for load in group])
    turns = np.array([[stations[at].turn_seconds(load.code) for at in limited] for load in group])
    alone = np.array([sum(s.turn_seconds(load.code) for s in stations) for load in group])
    alone += np.array([load.walk_seconds for load in group])
    each, stretch = children / alone, np.ones(len(limited))
    for _ in range(MOST_ROUNDS):
        common = visits * _common_turn(each, visits, turns) * stretch
        values = mean_values(common, lanes, children, np.maximum(alone - common.sum(axis=1), 0.0))
        before, each = each, children / (alone + values.line.sum(axis=1))
        # Lanes cannot be in use for longer than there is time: longer turns, a longer line.
        over = np.maximum(each @ turns / lanes, 1.0)
        if np.allclose(common, turns, rtol=1e-12) or (
            np.allclose(each, before, rtol=1e-9) and np.all(over < 1 + 1e-6)
        ):
            break
        stretch *= over
    line[np.ix_(rows, limited)] = values.line
    rounds[rows] = each


def _common_turn(rounds: Floats, visits: Floats, turns: Floats) -> Floats:
    """Mean seconds of a turn at each station over all turns taken there."""
    taken = rounds @ visits
    return np.divide(rounds @ turns, taken, out=np.zeros_like(taken), where=taken > 0)


def _station_wait(
    station: StationFlow, loops: Sequence[LoopLoad], line: Floats, rounds: Floats
) -> StationWait:
    """``line``: seconds in line a round by loop; Little's law turns them into children."""
    visits = np.array([station.visits(load.code) for load in loops])
    turns = np.array([station.turn_seconds(load.code) for load in loops])
    in_line, on_it = float(rounds @ line), float(rounds @ turns)
    taken = float(rounds @ visits)
    return StationWait(
        code=station.code,
        wait=in_line / taken if taken else 0.0,
        wait_by_loop={
            load.code: float(line[row] / visits[row])
            for row, load in enumerate(loops)
            if visits[row]
        },
        busy=on_it / station.lanes if station.lanes else 0.0,
        in_line=in_line,
        on_it=on_it,
    )


def _loop_round(
    load: LoopLoad,
    loops: Sequence[LoopLoad],
    stations: Sequence[StationFlow],
    line: Floats,
    found: Sequence[StationWait],
) -> LoopRound:
    mine = [at for at, station in enumerate(stations) if load.code in station.seconds_by_loop]
    turning = sum(stations[at].turn_seconds(load.code) for at in mine)
    waiting = float(line.sum())
    seconds = turning + waiting + load.walk_seconds
    longest = max(mine, key=lambda at: round(found[at].wait_by_loop[load.code], 6))
    busiest = _busiest([stations[at] for at in mine], [found[at] for at in mine])
    step = max((_step(stations[at], loops) for at in mine if found[at].code == busiest), default=0)
    return LoopRound(
        code=load.code,
        children=load.children,
        seconds=seconds,
        turn_seconds=turning,
        wait_seconds=waiting,
        walk_seconds=load.walk_seconds,
        active_share=turning / seconds,
        longest_wait=found[longest].wait_by_loop[load.code],
        longest_wait_at=found[longest].code,
        bottleneck=busiest,
        even_wait=max(step - turning - load.walk_seconds, 0.0) if load.children else 0.0,
    )


def _step(station: StationFlow, loops: Sequence[LoopLoad]) -> float:
    """Seconds until everybody who comes here has had their turns once round."""
    return sum(load.children * station.turn_seconds(load.code) for load in loops) / (
        station.lanes or np.inf
    )


def _busiest(stations: Sequence[StationFlow], found: Sequence[StationWait]) -> str | None:
    """The station with the highest busy share; the first of equals, whatever the rounding."""
    limited = [
        wait for station, wait in zip(stations, found, strict=True) if station.lanes is not None
    ]
    return max(limited, key=lambda wait: round(wait.busy, 9)).code if limited else None
