"""Waiting lines: published closed networks, bounds and brute force."""

from itertools import product
from math import factorial, fsum, prod

import pytest

from progress.engine.flow import flow_of
from progress.engine.flow_terms import Flow, LoopLoad, StationFlow
from tests.engine.small_loops import one_loop, present

JAIN_TURNS, JAIN_VISITS = [0.125, 0.3, 0.2], [16.0, 10.0, 5.0]
BOLCH_8_3_TURNS, BOLCH_8_3_VISITS = [0.02, 0.2, 0.4, 0.6], [1, 0.4, 0.2, 0.1]
BOLCH_8_4_TURNS, BOLCH_8_4_VISITS = [0.5, 0.6, 0.8, 1.0], [1, 0.5, 0.5, 1]


def jain(children: int) -> Flow:
    return one_loop(JAIN_TURNS, children, visits=JAIN_VISITS, walk=4.0)


def rounds_a_second(flow: Flow) -> float:
    return flow.loop("a").children / flow.loop("a").seconds


class TestPublishedNetworks:
    """Book values as they stand in the tests of octave-queueing 1.2.7, which name the pages."""

    def test_jain_1991_page_577(self) -> None:
        flow = jain(20)
        times = [s.wait + turn for s, turn in zip(flow.stations, JAIN_TURNS, strict=True)]
        assert times == pytest.approx([0.373, 4.854, 0.300], abs=1e-3)
        assert present(flow) == pytest.approx([1.991, 16.177, 0.500], abs=1e-3)
        # Recomputed with more digits than the book prints.
        assert times == pytest.approx([0.373339, 4.854260, 0.299922], abs=1e-6)
        assert rounds_a_second(flow) == pytest.approx(0.333247, abs=1e-6)

    @pytest.mark.parametrize(("children", "rounds"), [(1, 0.1), (2, 0.175439), (3, 0.229223)])
    def test_jain_with_few_customers_recomputed(self, children: int, rounds: float) -> None:
        assert rounds_a_second(jain(children)) == pytest.approx(rounds, abs=1e-6)

    def test_jain_with_three_customers_recomputed(self) -> None:
        flow = jain(3)
        assert present(flow) == pytest.approx([0.651475, 1.158177, 0.273458], abs=1e-6)

    def test_bolch_et_al_1998_example_8_3(self) -> None:
        flow = one_loop(BOLCH_8_3_TURNS, 6, visits=BOLCH_8_3_VISITS)
        times = [s.wait + turn for s, turn in zip(flow.stations, BOLCH_8_3_TURNS, strict=True)]
        rounds = rounds_a_second(flow)
        assert [s.busy for s in flow.stations] == pytest.approx(
            [0.198, 0.794, 0.794, 0.595], abs=1e-3
        )
        assert times == pytest.approx([0.025, 0.570, 1.140, 1.244], abs=1e-3)
        assert present(flow) == pytest.approx([0.244, 2.261, 2.261, 1.234], abs=1e-3)
        assert [rounds * v for v in BOLCH_8_3_VISITS] == pytest.approx(
            [9.920, 3.968, 1.984, 0.992], abs=1e-3
        )
        # Recomputed.
        assert rounds == pytest.approx(9.919836, abs=1e-6)
        assert present(flow) == pytest.approx([0.243615, 2.261038, 2.261038, 1.234309], abs=1e-6)

    def test_bolch_et_al_1998_example_8_4_with_two_lanes_and_a_station_without_end(self) -> None:
        flow = one_loop(BOLCH_8_4_TURNS, 3, [2, 1, 1, None], BOLCH_8_4_VISITS)
        rounds = rounds_a_second(flow)
        assert present(flow) == pytest.approx([0.624, 0.473, 0.686, 1.217], abs=1e-3)
        assert [rounds * v for v in BOLCH_8_4_VISITS] == pytest.approx(
            [1.218, 0.609, 0.609, 1.218], abs=1e-3
        )
        # Recomputed.
        assert present(flow) == pytest.approx([0.623679, 0.472872, 0.685988, 1.217461], abs=1e-6)

    def test_lazowska_et_al_1984_page_142_with_two_classes(self) -> None:
        """Demands (1, 3) and (2, 4), one customer each: as visits of one second."""
        stations = [
            StationFlow("cpu", 1, {"1": 1.0, "2": 1.0}, {"1": 1, "2": 2}),
            StationFlow("disk", 1, {"1": 1.0, "2": 1.0}, {"1": 3, "2": 4}),
        ]
        flow = flow_of(stations, [LoopLoad("1", 1), LoopLoad("2", 1)])
        first, second = flow.loops
        assert [1 / first.seconds, 1 / second.seconds] == pytest.approx([3 / 19, 2 / 19], abs=1e-9)
        cpu, disk = flow.stations
        # Time there in a round, visits x (wait + turn): 4/3 and 5, 5/2 and 7.
        assert cpu.wait_by_loop["1"] * 1 + 1 == pytest.approx(4 / 3, abs=1e-9)
        assert disk.wait_by_loop["1"] * 3 + 3 == pytest.approx(5, abs=1e-9)
        assert cpu.wait_by_loop["2"] * 2 + 2 == pytest.approx(5 / 2, abs=1e-9)
        assert disk.wait_by_loop["2"] * 4 + 4 == pytest.approx(7, abs=1e-9)
        assert present(flow) == pytest.approx([4 / 19 + 5 / 19, 15 / 19 + 14 / 19], abs=1e-9)

    def test_lazowska_et_al_1984_page_117(self) -> None:
        """The book prints the approximate answer (Bard-Schweitzer); the exact one is recomputed."""
        flow = one_loop([0.605, 2.1, 1.35], children=3, walk=15.0)
        assert rounds_a_second(flow) == pytest.approx(0.15152, abs=1e-5)
        assert flow.loop("a").seconds - 15 == pytest.approx(4.7998, abs=1e-4)
        assert present(flow) == pytest.approx([0.0976, 0.3947, 0.2350], abs=1e-4)
        assert rounds_a_second(flow) == pytest.approx(0.1510, rel=0.005)
        assert present(flow) == pytest.approx([0.0973, 0.4021, 0.2359], rel=0.02)

    @pytest.mark.parametrize(
        ("lanes", "offered", "all_busy"), [(2, 1.5, 0.642857), (5, 4.0, 0.554113)]
    )
    def test_erlangs_delay_formula_far_from_the_bottleneck(
        self, lanes: int, offered: float, all_busy: float
    ) -> None:
        """A crowded station sends on at random, so the next one is a queue M/M/c (recomputed)."""
        flow = one_loop([1.0, offered], children=200, lanes=[1, lanes])
        assert flow.station("1").in_line == pytest.approx(
            all_busy * offered / (lanes - offered), rel=1e-5
        )


class TestBoundsAndBalance:
    @pytest.mark.parametrize(("children", "stations"), [(6, 4), (10, 5), (1, 3)])
    def test_a_balanced_loop_has_the_known_rate(self, children: int, stations: int) -> None:
        """N / ((N + K - 1) D) for K equal single stations (e.g. Lazowska et al. 1984, ch. 5)."""
        flow = one_loop([20.0] * stations, children)
        assert rounds_a_second(flow) == pytest.approx(
            children / ((children + stations - 1) * 20), rel=1e-12
        )

    @pytest.mark.parametrize("children", [1, 2, 3, 4, 10, 40])
    def test_the_rate_keeps_the_asymptotic_bounds(self, children: int) -> None:
        """Jain's example: D = 6, Z = 4, Dmax = 3, so X <= min(1/3, N/10), knee at N* = 10/3."""
        rounds = rounds_a_second(jain(children))
        assert rounds <= min(1 / 3, children / 10) + 1e-12

    @pytest.mark.parametrize(
        ("children", "lanes", "wait", "active"),
        [(8, 1, 140, 0.125), (8, 2, 60, 0.25), (4, 2, 20, 0.5)],
    )
    def test_a_single_station_is_the_arithmetic_of_the_trade(
        self, children: int, lanes: int, wait: float, active: float
    ) -> None:
        """children x turn / lanes - turn with turns of 20 s: arithmetic, no source needed."""
        loop = one_loop([20.0], children, lanes=[lanes]).loop("a")
        assert loop.wait_seconds == pytest.approx(wait, rel=1e-12)
        assert loop.active_share == pytest.approx(active, rel=1e-12)
        assert loop.even_wait == pytest.approx(wait, rel=1e-12)
        assert loop.even_active_share == pytest.approx(active, rel=1e-12)

    @pytest.mark.parametrize("lanes", [3, 4, 50])
    def test_with_a_lane_for_everybody_nobody_waits(self, lanes: int) -> None:
        flow = one_loop([20.0, 30.0], 3, lanes=[lanes, lanes], walk=10.0)
        assert flow.loop("a").wait_seconds == 0
        assert flow.loop("a").active_share == pytest.approx(50 / 60)


def spreads(children: int, stations: int) -> list[tuple[int, ...]]:
    return [
        spread
        for spread in product(range(children + 1), repeat=stations)
        if sum(spread) == children
    ]


def ways(here: tuple[int, ...], turns: tuple[float, ...], lanes: int) -> float:
    """Weight of ``here`` children of each class at one station of the product form."""
    total = sum(here)
    orders = factorial(total) / prod(factorial(count) for count in here)
    rates = prod(min(place, lanes) for place in range(1, total + 1))
    return orders * prod(t**n for t, n in zip(turns, here, strict=True)) / rates


class TestAgainstTheProductFormSummedOut:
    def test_thirty_children_on_four_lanes_keep_their_digits(self) -> None:
        seconds, lanes, children, walk = (24.0, 5.9, 6.1), (4, 1, 2), 30, 25.0
        weight = {
            spread: prod(
                ways((n,), (s,), m) for n, s, m in zip(spread, seconds, lanes, strict=True)
            )
            * walk ** (children - sum(spread))
            / factorial(children - sum(spread))
            for spread in product(range(children + 1), repeat=3)
            if sum(spread) <= children
        }
        total = fsum(weight.values())
        flow = one_loop(seconds, children, lanes, walk=walk)
        for at, station in enumerate(flow.stations):
            line = fsum(w * max(n[at] - lanes[at], 0) for n, w in weight.items()) / total
            busy = fsum(w * min(n[at], lanes[at]) for n, w in weight.items()) / total
            assert station.in_line == pytest.approx(line, rel=1e-11)
            assert station.busy == pytest.approx(busy / lanes[at], rel=1e-11)

    @pytest.mark.parametrize(
        ("lanes", "children", "error"), [(4, 8, 1e-15), (4, 30, 1e-13), (8, 30, 1e-10)]
    )
    def test_mean_value_analysis_gives_the_same_numbers(
        self, lanes: int, children: int, error: float
    ) -> None:
        exact = rounds_a_second(one_loop([60.0, 5.0], children, [lanes, 1]))
        assert textbook([60.0, 5.0], [lanes, 1], children) == pytest.approx(exact, rel=5 * error)

    def test_its_recursion_over_many_lanes_loses_digits_and_ours_does_not(self) -> None:
        """With 60 children on 8 lanes that are never idle, 8 turns end in the time of one."""
        exact = rounds_a_second(one_loop([60.0, 5.0], 60, [8, 1]))
        assert exact == pytest.approx(8 / 60, rel=1e-6)
        assert abs(textbook([60.0, 5.0], [8, 1], 60) / exact - 1) > 0.01

    @pytest.mark.parametrize("lanes", [(1, 1), (2, 1), (3, 2)])
    def test_two_loops_that_share_stations(self, lanes: tuple[int, int]) -> None:
        turns = ((20.0, 20.0), (30.0, 15.0))  # by station and loop: 15 is half a visit of 30
        children, walk = (4, 3), (12.0, 7.0)
        weight = {}
        for a, b in product(spreads(4, 3), spreads(3, 3)):
            at = [ways((a[k], b[k]), turns[k], lanes[k]) for k in (0, 1)]
            away = [walk[c] ** n / factorial(n) for c, n in enumerate((a[2], b[2]))]
            weight[a, b] = prod(at) * prod(away)
        stations = [
            StationFlow("0", lanes[0], {"a": 20.0, "b": 20.0}),
            StationFlow("1", lanes[1], {"a": 30.0, "b": 30.0}, {"b": 0.5}),
        ]
        flow = flow_of(
            stations, [LoopLoad(c, n, w) for c, n, w in zip("ab", children, walk, strict=True)]
        )
        total = fsum(weight.values())
        for k in (0, 1):
            here = fsum(w * (a[k] + b[k]) for (a, b), w in weight.items()) / total
            assert present(flow)[k] == pytest.approx(here, rel=1e-12)
        for c, load in enumerate(flow.loops):
            walking = fsum(w * both[c][2] for both, w in weight.items()) / total
            assert load.children / load.seconds * load.walk_seconds == pytest.approx(
                walking, rel=1e-12
            )


def textbook(seconds: list[float], lanes: list[int], children: int) -> float:
    """Rounds a second by the recursion of Reiser & Lavenberg (1980) with marginal chances."""
    here = [0.0] * len(seconds)
    chance = [[1.0] + [0.0] * (m - 1) for m in lanes]
    rounds = 0.0
    for number in range(1, children + 1):
        times = [
            s / m * (1 + q + sum((m - 1 - j) * p[j] for j in range(m - 1)))
            for s, m, q, p in zip(seconds, lanes, here, chance, strict=True)
        ]
        rounds = number / sum(times)
        here = [rounds * each for each in times]
        for k, (s, m) in enumerate(zip(seconds, lanes, strict=True)):
            later = [rounds * s / j * chance[k][j - 1] for j in range(1, m)]
            idle = sum((m - j) * p for j, p in enumerate(later, start=1))
            chance[k] = [1 - (rounds * s + idle) / m, *later]
    return rounds
