"""Waiting lines against children simulated turn by turn, and how far even turns are from that."""

from collections.abc import Sequence

import numpy as np
import pytest

from progress.engine.flow import flow_of, loads
from progress.engine.flow_terms import LoopRound, StationFlow
from tests.engine.cycling_children import Route, Seen, simulate
from tests.engine.small_loops import floor

TURNS = 120_000
WALK = 5.0
LOOP = (12.0, 20.0, 15.0, 24.0)
SINGLE = (1, 1, 1, 1)


def expected(seconds: Sequence[float], lanes: Sequence[int], children: int) -> LoopRound:
    stations = [
        StationFlow(str(at), many, {"a": each})
        for at, (each, many) in enumerate(zip(seconds, lanes, strict=True))
    ]
    return flow_of(stations, loads(stations, {"a": children}, WALK)).loop("a")


def seen(seconds: Sequence[float], lanes: Sequence[int], children: int, spread: float) -> Seen:
    route = Route(tuple(range(len(seconds))), tuple(seconds), children, WALK)
    return simulate([route], lanes, spread, TURNS, seed=7)


class TestExponentialTurns:
    """Children in a fixed order, first come first served: the waits must be those worked out."""

    @pytest.mark.parametrize(
        ("seconds", "lanes", "children"),
        [
            pytest.param(LOOP, SINGLE, 8, id="one lane each"),
            pytest.param(LOOP, (1, 2, 1, 3), 9, id="several lanes"),
            pytest.param((40.0, 40.0, 10.0), (2, 3, 1), 12, id="crowded lanes"),
        ],
    )
    def test_the_simulated_waits_agree_within_a_few_percent(
        self, seconds: tuple[float, ...], lanes: tuple[int, ...], children: int
    ) -> None:
        loop, found = expected(seconds, lanes, children), seen(seconds, lanes, children, 1.0)
        assert found.round_seconds[0] == pytest.approx(loop.seconds, rel=0.02)
        assert sum(found.wait.values()) == pytest.approx(loop.wait_seconds, rel=0.03)
        longest = found.wait[0, int(loop.longest_wait_at)]
        assert longest == pytest.approx(loop.longest_wait, rel=0.04)

    def test_two_loops_with_a_station_in_common_agree_too(self) -> None:
        stations, children = floor(
            {"s": (1, {"a": 20.0, "b": 20.0}), "x": (1, {"a": 15.0}), "y": (2, {"b": 30.0})},
            {"a": 4, "b": 4},
        )
        flow = flow_of(stations, children)
        routes = [Route((0, 1), (20.0, 15.0), 4, WALK), Route((0, 2), (20.0, 30.0), 4, WALK)]
        found = simulate(routes, (1, 1, 2), 1.0, TURNS, seed=7)
        rounds = [loop.seconds for loop in flow.loops]
        assert found.round_seconds == pytest.approx(rounds, rel=0.02)
        shared = flow.station("s").wait_by_loop
        assert found.wait[0, 0] == pytest.approx(shared["a"], rel=0.03)
        assert found.wait[1, 0] == pytest.approx(shared["b"], rel=0.03)
        assert found.wait[0, 1] == pytest.approx(flow.station("x").wait, rel=0.1)

    @pytest.mark.parametrize("seed", range(8))
    def test_with_turns_of_different_length_at_shared_stations_rounds_are_roughly_right(
        self, seed: int
    ) -> None:
        """No exact answer is known for that: nine in ten within 6%, the worst of 40 floors 14%."""
        dice = np.random.default_rng(seed)
        a, b = dice.uniform(8, 40, 3).tolist(), dice.uniform(8, 40, 3).tolist()
        first, second = (int(count) for count in dice.integers(2, 9, 2))
        stations, children = floor(
            {
                "s": (1, {"a": a[0], "b": b[0]}),
                "t": (2, {"a": a[1], "b": b[1]}),
                "x": (1, {"a": a[2]}),
                "y": (1, {"b": b[2]}),
            },
            {"a": first, "b": second},
        )
        flow = flow_of(stations, children)
        routes = [
            Route((0, 1, 2), tuple(a), first, WALK),
            Route((0, 1, 3), tuple(b), second, WALK),
        ]
        found = simulate(routes, (1, 2, 1, 1), 1.0, TURNS // 2, seed=7)
        for row, loop in enumerate("ab"):
            assert flow.loop(loop).seconds == pytest.approx(found.round_seconds[row], rel=0.15)


class TestEvenTurns:
    """Real turns vary less than exponential ones: how far the answer is off, and which way."""

    @pytest.mark.parametrize("spread", [0.5, 0.2])
    @pytest.mark.parametrize("children", [4, 6, 12])
    @pytest.mark.parametrize("lanes", [SINGLE, (1, 2, 1, 2)])
    def test_the_truth_lies_between_uneven_and_even_turns(
        self, spread: float, children: int, lanes: tuple[int, ...]
    ) -> None:
        loop, found = expected(LOOP, lanes, children), seen(LOOP, lanes, children, spread)
        assert loop.even_wait * 0.99 <= sum(found.wait.values()) <= loop.wait_seconds
        active = sum(LOOP) / found.round_seconds[0]
        assert loop.active_share <= active <= loop.even_active_share + 0.005
        assert max(found.wait.values()) <= loop.wait_to_plan_for * 1.03

    @pytest.mark.parametrize(
        ("spread", "in_line", "active", "longest"),
        [(1.0, 126, 0.33, 67), (0.5, 102, 0.37, 78), (0.2, 101, 0.37, 99), (0.0, 101, 0.37, 101)],
    )
    def test_the_figures_named_in_the_documentation(
        self, spread: float, in_line: float, active: float, longest: float
    ) -> None:
        found = seen(LOOP, SINGLE, 8, spread)
        assert sum(found.wait.values()) == pytest.approx(in_line, rel=0.03)
        assert sum(LOOP) / found.round_seconds[0] == pytest.approx(active, abs=0.01)
        assert found.wait[0, 3] == pytest.approx(longest, rel=0.03)

    def test_turns_all_alike_end_where_the_arithmetic_says(self) -> None:
        """8 children x 24 s at the bottleneck, less 71 s of turns and 20 s of walking."""
        loop, found = expected(LOOP, SINGLE, 8), seen(LOOP, SINGLE, 8, 0.0)
        assert loop.even_wait == pytest.approx(8 * 24 - 71 - 20)
        assert found.wait[0, 3] == pytest.approx(loop.even_wait, rel=0.001)

    def test_even_turns_wait_longer_at_the_bottleneck_though_less_in_all(self) -> None:
        uneven, even = seen(LOOP, SINGLE, 8, 1.0), seen(LOOP, SINGLE, 8, 0.2)
        assert sum(even.wait.values()) < 0.85 * sum(uneven.wait.values())
        assert even.wait[0, 3] > 1.3 * uneven.wait[0, 3]

    def test_a_balanced_loop_with_a_child_a_station_is_where_the_answer_is_furthest_off(
        self,
    ) -> None:
        loop, found = expected((20.0,) * 4, SINGLE, 4), seen((20.0,) * 4, SINGLE, 4, 0.2)
        assert loop.wait_seconds == pytest.approx(51, abs=0.5)
        assert sum(found.wait.values()) == pytest.approx(6, abs=1)
        assert loop.even_wait == 0

    def test_at_a_single_station_without_walking_the_spread_makes_no_difference(self) -> None:
        for spread in (0.0, 0.3, 1.0):
            found = simulate([Route((0,), (20.0,), 8)], (2,), spread, TURNS, seed=7)
            assert found.wait[0, 0] == pytest.approx(60, rel=0.01)
