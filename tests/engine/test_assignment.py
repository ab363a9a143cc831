"""Sharing children out: published assignment optima, and brute force with limits."""

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
import pytest

from progress.engine.assignment import TURNED_AWAY, Option, Pick, assign, share_out

# Matrices and optima of scipy's own documentation and tests of linear_sum_assignment.
PUBLISHED = [
    pytest.param([[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5, id="documentation"),
    pytest.param([[400, 150, 400], [400, 450, 600], [300, 225, 300]], 850, id="square"),
    pytest.param(
        [[400, 150, 400, 1], [400, 450, 600, 2], [300, 225, 300, 3]], 452, id="one seat more"
    ),
    pytest.param([[10, 10, 8], [9, 8, 1], [9, 7, 4]], 18, id="another square"),
    pytest.param([[10, 10, 8, 11], [9, 8, 1, 1], [9, 7, 4, 10]], 15, id="another seat more"),
]
SMALLER = 1000.0  # published costs are divided by this: ours stay far below turning somebody away


def options_of(costs: Sequence[Sequence[float]], station: str = "s") -> list[Option]:
    return [
        Option(row, station, f"v{column}", cost / SMALLER)
        for row, values in enumerate(costs)
        for column, cost in enumerate(values)
    ]


def cost_of(options: Sequence[Option], picks: Mapping[tuple[int, str], Pick]) -> float:
    cost = {(o.row, o.station, o.code): o.cost for o in options}
    return sum(
        TURNED_AWAY if pick.code is None else cost[(*key, pick.code)] for key, pick in picks.items()
    )


class TestPublishedOptima:
    @pytest.mark.parametrize(("costs", "optimum"), PUBLISHED)
    def test_with_one_place_each_the_plan_costs_the_published_optimum(
        self, costs: list[list[float]], optimum: float
    ) -> None:
        options = options_of(costs)
        places = {("s", f"v{column}"): 1 for column in range(len(costs[0]))}
        picks = assign(options, places)
        assert cost_of(options, picks) * SMALLER == pytest.approx(optimum, abs=1e-6)
        codes = [pick.code for pick in picks.values()]
        assert len(set(codes)) == len(costs)

    @pytest.mark.parametrize(
        ("costs", "optimum"), [case for case in PUBLISHED if "more" not in str(case.id)]
    )
    def test_as_many_loops_as_children_is_the_same_problem(
        self, costs: list[list[float]], optimum: float
    ) -> None:
        loops = share_out(np.array(costs, dtype=float) / SMALLER)
        assert sorted(loops) == list(range(len(costs)))
        assert sum(costs[row][loop] for row, loop in enumerate(loops)) == optimum

    def test_the_documented_example_is_assigned_as_documented(self) -> None:
        assert share_out(np.array([[4.0, 1, 3], [2, 0, 5], [3, 2, 2]])) == [1, 0, 2]


def best_by_hand(
    options: Sequence[Option], places: Mapping[tuple[str, str], int], spotters: int | None
) -> float:
    """The least cost over every way to pick an option, or nobody, for each athlete and station."""
    keys = list(dict.fromkeys((o.row, o.station) for o in options))
    choices: list[list[Option | None]] = [
        [*(o for o in options if (o.row, o.station) == key), None] for key in keys
    ]
    least = np.inf
    for picked in product(*choices):
        taken = [option for option in picked if option is not None]
        used = [(o.station, o.code) for o in taken]
        full = any(used.count(place) > most for place, most in places.items())
        watched = len({o.station for o in taken if o.spotter})
        if not full and (spotters is None or watched <= spotters):
            away = TURNED_AWAY * (len(picked) - len(taken))
            least = min(least, away + sum(o.cost for o in taken))
    return float(least)


class TestAgainstBruteForce:
    @pytest.mark.parametrize("seed", range(25))
    def test_no_plan_within_the_limits_costs_less(self, seed: int) -> None:
        dice = np.random.default_rng(seed)
        athletes, stations = int(dice.integers(2, 4)), int(dice.integers(1, 3))
        options = [
            Option(row, f"s{s}", f"v{v}", float(dice.uniform(0, 1.5)), bool(v == 2))
            for s in range(stations)
            for row in range(athletes)
            for v in range(3)
            if dice.random() < 0.85
        ]
        places = {
            (f"s{s}", f"v{v}"): int(dice.integers(0, 3))
            for s in range(stations)
            for v in range(3)
            if dice.random() < 0.8
        }
        spotters = [None, 0, 1][seed % 3]
        picks = assign(options, places, spotters)
        assert cost_of(options, picks) == pytest.approx(
            best_by_hand(options, places, spotters), abs=1e-6
        )
        self.check_limits(options, picks, places, spotters)

    @staticmethod
    def check_limits(
        options: Sequence[Option],
        picks: Mapping[tuple[int, str], Pick],
        places: Mapping[tuple[str, str], int],
        spotters: int | None,
    ) -> None:
        used = [(station, pick.code) for (_, station), pick in picks.items() if pick.code]
        assert all(used.count(place) <= most for place, most in places.items())
        watching = {(o.station, o.code) for o in options if o.spotter}
        watched = {station for station, code in used if (station, code) in watching}
        assert spotters is None or len(watched) <= spotters


class TestPicks:
    def test_without_limits_everybody_gets_the_nearest_and_the_first_named_of_equals(self) -> None:
        options = [Option(0, "s", "a", 0.2), Option(0, "s", "b", 0.1), Option(0, "s", "c", 0.1)]
        assert assign(options, {}) == {(0, "s"): Pick("b", moved=False)}

    def test_who_cannot_have_the_first_choice_is_told(self) -> None:
        options = options_of([[0, 5], [0, 9]])
        assert assign(options, {("s", "v0"): 1}) == {
            (0, "s"): Pick("v1", moved=True),
            (1, "s"): Pick("v0", moved=False),
        }

    def test_where_everything_is_full_somebody_is_turned_away_and_nobody_fails(self) -> None:
        options = options_of([[0], [1], [2]])
        picks = assign(options, {("s", "v0"): 2})
        assert picks[2, "s"] == Pick(None, moved=True)
        assert [picks[row, "s"].code for row in (0, 1)] == ["v0", "v0"]

    def test_without_a_spotter_nobody_is_sent_where_one_is_wanted(self) -> None:
        options = [Option(0, "s", "easy", 0.5), Option(0, "s", "high", 0.0, spotter=True)]
        assert assign(options, {}, spotters=0)[0, "s"] == Pick("easy", moved=True)
        assert assign(options, {}, spotters=1)[0, "s"] == Pick("high", moved=False)

    def test_one_spotter_stands_where_it_helps_most(self) -> None:
        options = [
            *(Option(row, "few", "high", 0.0, spotter=True) for row in (0,)),
            *(Option(row, "few", "easy", 0.3) for row in (0,)),
            *(Option(row, "many", "high", 0.0, spotter=True) for row in (0, 1, 2)),
            *(Option(row, "many", "easy", 0.3) for row in (0, 1, 2)),
        ]
        picks = assign(options, {}, spotters=1)
        assert {picks[row, "many"].code for row in (0, 1, 2)} == {"high"}
        assert picks[0, "few"].code == "easy"

    def test_no_options_are_no_picks(self) -> None:
        assert assign([], {("s", "a"): 1}, spotters=0) == {}

    def test_two_runs_give_the_same_plan(self) -> None:
        options = options_of([[1, 1, 1]] * 5)
        places = {("s", f"v{v}"): 2 for v in range(3)}
        assert assign(options, places) == assign(options, places)


class TestShareOut:
    @pytest.mark.parametrize(("athletes", "loops"), [(7, 3), (8, 2), (2, 5), (30, 4), (0, 2)])
    def test_sizes_differ_by_at_most_one_at_the_least_cost(self, athletes: int, loops: int) -> None:
        costs = np.random.default_rng(athletes).uniform(0, 1, (athletes, loops))
        found = share_out(costs)
        sizes = np.bincount(np.array(found, dtype=int), minlength=loops)
        assert len(found) == athletes
        assert np.ptp(sizes) <= 1

    def test_no_other_way_with_those_sizes_costs_less(self) -> None:
        for seed in range(8):
            costs = np.random.default_rng(seed).uniform(0, 1, (5, 2))
            ours = sum(costs[row, loop] for row, loop in enumerate(share_out(costs)))
            balanced = [w for w in product((0, 1), repeat=5) if sum(w) in (2, 3)]
            assert ours == pytest.approx(
                min(sum(costs[row, loop] for row, loop in enumerate(way)) for way in balanced)
            )

    def test_without_loops_nobody_is_sent_anywhere(self) -> None:
        assert share_out(np.zeros((3, 0))) == []
