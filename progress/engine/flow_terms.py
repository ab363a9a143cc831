"""The words of the waiting lines: what goes into the flow of a floor and what comes out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf


@dataclass(frozen=True)
class StationFlow:
    """A station as the line sees it.

    ``lanes``: children who can be on it at once; None where there is always room (a filler, a
    rest mat). ``seconds_by_loop``: mean seconds of a turn for the children of each loop that
    comes here; children take different variants, so a mean. ``visits_by_loop``: turns a child
    takes here in one round, 1 where not named; 0.5 where a split sends every second child.
    """

    code: str
    lanes: int | None
    seconds_by_loop: Mapping[str, float]
    visits_by_loop: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.lanes is not None and self.lanes < 1:
            raise ValueError(f"{self.code}: lanes must be at least 1, not {self.lanes}")
        for loop, seconds in self.seconds_by_loop.items():
            if not 0 < seconds < inf:
                raise ValueError(f"{self.code}: a turn must take some seconds, not {seconds}")
            if not 0 < self.visits(loop) < inf:
                raise ValueError(f"{self.code}: visits must be above 0, not {self.visits(loop)}")

    def visits(self, loop: str) -> float:
        """Turns a child of this loop takes here in one round; 0 where the loop does not come."""
        return self.visits_by_loop.get(loop, 1.0) if loop in self.seconds_by_loop else 0.0

    def turn_seconds(self, loop: str) -> float:
        """Seconds of turns here in one round: visits x seconds of a turn."""
        return self.visits(loop) * self.seconds_by_loop.get(loop, 0.0)


@dataclass(frozen=True)
class LoopLoad:
    """``children`` who go round a loop, ``walk_seconds`` walking between stations in one round."""

    code: str
    children: int
    walk_seconds: float = 0.0

    def __post_init__(self) -> None:
        if self.children < 0:
            raise ValueError(f"{self.code}: children must not be negative, not {self.children}")
        if not 0 <= self.walk_seconds < inf:
            raise ValueError(f"{self.code}: walking must be seconds, not {self.walk_seconds}")


@dataclass(frozen=True)
class StationWait:
    """What to expect at one station.

    ``wait``: mean seconds in line before a turn, over all turns taken; ``wait_by_loop`` for the
    children of each loop. ``busy``: share 0-1 of the lanes' time in use (0 where there is always
    room). ``in_line``: mean children waiting. ``on_it``: mean children having their turn.
    """

    code: str
    wait: float
    wait_by_loop: Mapping[str, float]
    busy: float
    in_line: float
    on_it: float


@dataclass(frozen=True)
class LoopRound:
    """What to expect on one loop; times are means in seconds for one child and one round.

    ``seconds`` = ``turn_seconds`` + ``wait_seconds`` + ``walk_seconds``. ``active_share`` =
    turn_seconds / seconds: walking is neither a turn nor a wait, but it is part of the round.
    ``longest_wait``: the longest mean wait before one turn, at station ``longest_wait_at``.
    ``bottleneck``: the loop's busiest station, None where there is always room everywhere.
    ``even_wait``: seconds in line in a round, all of it at the bottleneck, if every turn took just
    its mean and all who come there took turns in step: turns of everybody there / lanes - one's
    own round without lines, at least 0. For a loop that shares no station no spread of turns can
    make it less (asymptotic bounds, e.g. Lazowska et al. 1984, ch. 5).
    """

    code: str
    children: int
    seconds: float
    turn_seconds: float
    wait_seconds: float
    walk_seconds: float
    active_share: float
    longest_wait: float
    longest_wait_at: str
    bottleneck: str | None
    even_wait: float

    @property
    def even_active_share(self) -> float:
        """``active_share`` if turns were all alike: the upper end of what to expect."""
        return self.turn_seconds / (self.turn_seconds + self.walk_seconds + self.even_wait)

    @property
    def wait_to_plan_for(self) -> float:
        """The longest mean wait before one turn, whether turns are uneven or all alike: seconds."""
        return max(self.longest_wait, self.even_wait)


@dataclass(frozen=True)
class Flow:
    """Stations and loops in the order given; ``bottleneck``: the busiest station of the floor."""

    stations: tuple[StationWait, ...]
    loops: tuple[LoopRound, ...]
    bottleneck: str | None

    def station(self, code: str) -> StationWait:
        """The station with this code; KeyError where there is none."""
        return {station.code: station for station in self.stations}[code]

    def loop(self, code: str) -> LoopRound:
        """The loop with this code; KeyError where there is none."""
        return {loop.code: loop for loop in self.loops}[code]
