"""Waiting lines: what must hold of every floor, loops that share stations, and what is refused."""

from time import perf_counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from progress.engine.closed_network import TooManyStates
from progress.engine.flow import flow_of, loads
from progress.engine.flow_terms import LoopLoad, StationFlow
from tests.engine.random_stations import quietly
from tests.engine.small_loops import floor, one_loop, present

some_seconds = some.lists(some.floats(3, 60), min_size=1, max_size=4)


class TestEveryFloor:
    @quietly
    @given(seconds=some_seconds, children=some.integers(1, 14), data=some.data())
    def test_everybody_is_somewhere_and_bounds_hold(
        self, seconds: list[float], children: int, data: some.DataObject
    ) -> None:
        lanes = data.draw(
            some.lists(some.integers(1, 4), min_size=len(seconds), max_size=len(seconds))
        )
        walk = data.draw(some.floats(0, 60))
        flow = one_loop(seconds, children, lanes, walk=walk)
        loop = flow.loop("a")
        walking = children / loop.seconds * walk
        assert sum(present(flow)) + walking == pytest.approx(children, rel=1e-9)
        assert all(0 <= station.busy <= 1 + 1e-12 for station in flow.stations)
        assert loop.wait_seconds >= loop.even_wait - 1e-6
        assert loop.active_share <= loop.even_active_share + 1e-9
        assert loop.wait_to_plan_for >= max(station.wait for station in flow.stations) - 1e-6

    @quietly
    @given(seconds=some_seconds, children=some.integers(1, 14))
    def test_one_more_child_shortens_no_wait_and_one_more_lane_lengthens_no_round(
        self, seconds: list[float], children: int
    ) -> None:
        now, more = one_loop(seconds, children), one_loop(seconds, children + 1)
        for before, after in zip(now.stations, more.stations, strict=True):
            assert after.wait >= before.wait - 1e-9
        wider = one_loop(seconds, children, [2, *[1] * (len(seconds) - 1)])
        assert wider.loop("a").seconds <= now.loop("a").seconds + 1e-9

    @settings(quietly, max_examples=50)
    @given(
        seconds=some.lists(some.floats(8, 40), min_size=6, max_size=6),
        counts=some.tuples(some.integers(1, 8), some.integers(1, 8)),
        walk=some.sampled_from([0.0, 5.0]),
    )
    def test_turns_of_different_length_at_a_shared_station_lose_nobody_and_overfill_no_lane(
        self, seconds: list[float], counts: tuple[int, int], walk: float
    ) -> None:
        a, b, c, d, e, f = seconds
        stations = {
            "s": (1, {"a": a, "b": b}),
            "t": (2, {"a": c, "b": d}),
            "x": (1, {"a": e}),
            "y": (1, {"b": f}),
        }
        flow = flow_of(*floor(stations, dict(zip("ab", counts, strict=True)), walk))
        walking = sum(loop.children / loop.seconds * loop.walk_seconds for loop in flow.loops)
        assert sum(present(flow)) + walking == pytest.approx(sum(counts), rel=1e-9)
        assert all(station.busy <= 1 + 1e-5 for station in flow.stations)

    def test_three_loops_of_ten_on_six_shared_stations_take_well_under_a_second(self) -> None:
        stations = {str(k): (1 + k % 3, dict.fromkeys("abc", 10.0 + k)) for k in range(6)}
        listed, children = floor(stations, dict.fromkeys("abc", 10))
        start = perf_counter()
        flow = flow_of(listed, children)
        assert perf_counter() - start < 0.5  # measured: 0.04
        assert len({round(loop.seconds, 6) for loop in flow.loops}) == 1

    def test_so_do_they_with_turns_of_different_length(self) -> None:
        turns = {loop: 10.0 + 5 * at for at, loop in enumerate("abc")}
        listed, children = floor(
            {str(k): (1 + k % 3, turns) for k in range(6)}, dict.fromkeys("abc", 10)
        )
        start = perf_counter()
        flow = flow_of(listed, children)
        assert perf_counter() - start < 2
        assert flow.station("0").busy > 0.95

    def test_alike_loops_are_one_loop_with_all_the_children(self) -> None:
        together = one_loop([20.0, 12.0], 9, [2, 1], walk=10.0).loop("a")
        stations = {"0": (2, dict.fromkeys("abc", 20.0)), "1": (1, dict.fromkeys("abc", 12.0))}
        apart = flow_of(*floor(stations, {"a": 2, "b": 3, "c": 4}))
        assert [loop.seconds for loop in apart.loops] == pytest.approx([together.seconds] * 3)

    def test_loops_that_share_nothing_do_not_feel_each_other_however_many(self) -> None:
        codes = [f"loop {number}" for number in range(8)]
        stations = {f"{code} {k}": (1, {code: 10.0 * k}) for code in codes for k in (1, 2)}
        flow = flow_of(*floor(stations, dict.fromkeys(codes, 9)))
        alone = one_loop([10.0, 20.0], 9, walk=10.0).loop("a")
        assert [loop.seconds for loop in flow.loops] == pytest.approx([alone.seconds] * 8)

    def test_a_station_shared_by_two_loops_has_one_line_for_both(self) -> None:
        stations, children = floor(
            {"s": (1, {"a": 20.0, "b": 20.0}), "x": (1, {"a": 15.0})}, {"a": 3, "b": 3}
        )
        flow = flow_of(stations, children)
        alone = flow_of(stations, loads(stations, {"a": 3}, 5.0))
        assert flow.station("s").wait_by_loop["a"] > alone.station("s").wait_by_loop["a"] + 20
        assert flow.bottleneck == flow.loop("a").bottleneck == flow.loop("b").bottleneck == "s"

    def test_a_room_with_space_for_all_has_no_line_and_counts_as_a_turn(self) -> None:
        flow = one_loop([20.0, 40.0], 3, [None, None], walk=15.0)
        assert flow.loop("a").active_share == pytest.approx(60 / 75)
        assert flow.bottleneck is None
        assert present(flow) == pytest.approx([3 * 20 / 75, 3 * 40 / 75])

    def test_a_loop_without_children_waits_for_nobody(self) -> None:
        flow = flow_of(*floor({"s": (1, {"a": 20.0}), "t": (1, {"b": 9.0})}, {"a": 0, "b": 4}))
        assert (flow.loop("a").wait_seconds, flow.loop("a").even_wait) == (0, 0)
        assert flow.station("s").busy == 0
        assert flow.bottleneck == "t"

    def test_walking_is_to_each_station_of_a_round(self) -> None:
        stations = [StationFlow("s", 1, {"a": 9.0}), StationFlow("t", 1, {"a": 9.0}, {"a": 0.5})]
        assert loads(stations, {"a": 4}, 6.0) == (LoopLoad("a", 4, 9.0),)


class TestWhatCannotBeAnswered:
    def test_too_many_loops_sharing_stations_say_so(self) -> None:
        stations = {"s": (1, {str(k): 20.0 for k in range(8)})}
        with pytest.raises(TooManyStates, match="too many"):
            flow_of(*floor(stations, {str(k): 9 for k in range(8)}))

    def test_a_loop_without_stations_or_a_code_used_twice_is_refused(self) -> None:
        station = StationFlow("s", 1, {"a": 20.0})
        with pytest.raises(ValueError, match="loop b has no stations"):
            flow_of([station], [LoopLoad("b", 3)])
        with pytest.raises(ValueError, match="station named twice: s"):
            flow_of([station, station], [LoopLoad("a", 3)])
        with pytest.raises(ValueError, match="loop named twice: a"):
            flow_of([station], [LoopLoad("a", 3), LoopLoad("a", 2)])

    @pytest.mark.parametrize("seconds", [0.0, -1.0, np.nan, np.inf])
    def test_a_turn_takes_some_seconds(self, seconds: float) -> None:
        with pytest.raises(ValueError, match="some seconds"):
            StationFlow("s", 1, {"a": seconds})

    def test_lanes_visits_children_and_walking_must_make_sense(self) -> None:
        with pytest.raises(ValueError, match="lanes"):
            StationFlow("s", 0, {"a": 20.0})
        with pytest.raises(ValueError, match="visits"):
            StationFlow("s", 1, {"a": 20.0}, {"a": 0.0})
        with pytest.raises(ValueError, match="children"):
            LoopLoad("a", -1)
        with pytest.raises(ValueError, match="walking"):
            LoopLoad("a", 1, -5.0)
