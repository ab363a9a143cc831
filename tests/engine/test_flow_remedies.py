"""What is said about waits on a floor, and what a change would do."""

import pytest

from progress.engine.flow import flow_of, loads
from progress.engine.flow_remedies import (
    Effect,
    FlowWarningKind,
    Remedy,
    RemedyKind,
    remedies,
    warnings,
)
from progress.engine.flow_terms import StationFlow
from tests.engine.small_loops import floor, one_loop

WAIT, ACTIVE = FlowWarningKind.WAIT, FlowWarningKind.ACTIVE
TWO_LOOPS = (
    {
        "beam": (1, {"a": 20.0}),
        "net": (1, {"a": 30.0, "b": 30.0}),
        "bars": (2, {"b": 25.0}),
        "quiet": (1, {"c": 10.0}),
    },
    {"a": 6, "b": 4, "c": 2},
)


class TestWarnings:
    """Limits 0.40 and 60 s are proposals of this project, no source."""

    def test_eight_children_and_one_lane_break_both_limits(self) -> None:
        """Waiting arithmetic: 8 x 20 - 20 = 140 s and 20 / 160 = 12.5%."""
        found = warnings(one_loop([20.0], 8), 0.40, 60.0)
        assert [(w.kind, w.loop, w.station, w.limit) for w in found] == [
            (ACTIVE, "a", None, 0.40),
            (WAIT, "a", "0", 60.0),
        ]
        assert [w.found for w in found] == pytest.approx([0.125, 140])
        assert [w.if_even for w in found] == pytest.approx([0.125, 140])

    def test_a_figure_at_its_limit_is_within_it(self) -> None:
        """8 children on 2 lanes wait 60 s and are active 25% of the time."""
        flow = one_loop([20.0], 8, [2])
        assert warnings(flow, 0.25, 60.0) == ()
        assert [w.kind for w in warnings(flow, 0.2501, 59.99)] == [ACTIVE, WAIT]

    def test_the_wait_of_even_turns_counts_where_it_is_longer(self) -> None:
        """7 x 24 s - 71 s of turns = 97 s, though uneven turns alone would say less than 90."""
        flow = one_loop([12.0, 20.0, 15.0, 24.0], 7)
        assert flow.station("3").wait < 90
        (warning,) = warnings(flow, 0.0, 90.0)
        assert (warning.kind, warning.station, warning.limit) == (WAIT, "3", 90.0)
        assert [warning.found, warning.if_even] == pytest.approx([97, 97])

    def test_longest_waits_come_first_and_loops_in_order(self) -> None:
        flow = flow_of(*floor(*TWO_LOOPS))
        found = warnings(flow, 0.0, 5.0)
        for loop in "ab":
            waits = [w.found for w in found if w.loop == loop]
            assert waits == sorted(waits, reverse=True)
        assert [w.loop for w in found] == sorted(w.loop for w in found)
        assert {(w.loop, w.station) for w in found} >= {("a", "net"), ("b", "net")}

    def test_a_loop_without_children_is_not_warned_about(self) -> None:
        flow = flow_of(*floor({"s": (1, {"a": 20.0})}, {"a": 0}, walk_seconds=90.0))
        assert flow.loop("a").active_share < 0.2
        assert warnings(flow, 0.40, 60.0) == ()


def by_kind(found: tuple[Remedy, ...]) -> dict[RemedyKind, Remedy]:
    return {remedy.kind: remedy for remedy in found}


class TestRemedies:
    def test_at_a_single_station_they_are_the_arithmetic(self) -> None:
        """children x turn / lanes - turn, for 8 children, 20 s and 1 lane: 140 s and 12.5%."""
        found = by_kind(remedies(*floor({"s": (1, {"a": 20.0})}, {"a": 8}, 0.0), "a"))
        for one in found.values():
            assert one.before.wait == pytest.approx(140)
            assert one.before.active_share == pytest.approx(0.125)
        assert found[RemedyKind.LANE].after.wait == pytest.approx(60)
        assert found[RemedyKind.LANE].after.active_share == pytest.approx(0.25)
        assert found[RemedyKind.SHORTER].after.wait == pytest.approx(7 * 15)
        assert found[RemedyKind.OFF].after.wait == pytest.approx(5 * 20)
        assert found[RemedyKind.OFF].children == 2
        assert RemedyKind.MOVE not in found

    def test_lanes_and_shorter_turns_are_for_the_bottleneck(self) -> None:
        found = by_kind(remedies(*floor(*TWO_LOOPS), "a"))
        assert found[RemedyKind.LANE].station == found[RemedyKind.SHORTER].station == "net"
        stations, loops = TWO_LOOPS
        wider = flow_of(*floor({**stations, "net": (2, {"a": 30.0, "b": 30.0})}, loops)).loop("a")
        assert found[RemedyKind.LANE].after == Effect(wider.wait_to_plan_for, wider.active_share)
        quicker = flow_of(*floor({**stations, "net": (1, {"a": 22.5, "b": 22.5})}, loops)).loop("a")
        assert found[RemedyKind.SHORTER].after.wait == pytest.approx(quicker.wait_to_plan_for)

    def test_two_children_move_to_the_loop_that_is_least_harmed_and_both_are_told(self) -> None:
        move = by_kind(remedies(*floor(*TWO_LOOPS), "a"))[RemedyKind.MOVE]
        stations, _ = TWO_LOOPS
        after = flow_of(*floor(stations, {"a": 4, "b": 4, "c": 4}))
        before = flow_of(*floor(*TWO_LOOPS))
        assert (move.other_loop, move.children) == ("c", 2)
        for said, flow, loop in (
            (move.before, before, "a"),
            (move.after, after, "a"),
            (move.other_before, before, "c"),
            (move.other_after, after, "c"),
        ):
            line = flow.loop(loop)
            assert said == Effect(line.wait_to_plan_for, line.active_share)
        assert move.other_after is not None
        assert move.other_before is not None
        assert move.other_after.wait > move.other_before.wait

    def test_the_greatest_gain_comes_first_and_none_makes_its_loop_wait_longer(self) -> None:
        found = remedies(*floor(*TWO_LOOPS), "a")
        shares = [remedy.after.active_share for remedy in found]
        assert shares == sorted(shares, reverse=True)
        assert len(found) == 4
        for remedy in found:
            assert remedy.after.wait < remedy.before.wait
            assert remedy.after.active_share > remedy.before.active_share

    @pytest.mark.parametrize(("children", "moved"), [(1, None), (2, 1), (3, 2), (9, 2)])
    def test_somebody_stays_on_the_loop(self, children: int, moved: int | None) -> None:
        found = by_kind(remedies(*floor({"s": (1, {"a": 20.0})}, {"a": children}), "a"))
        assert (found[RemedyKind.OFF].children if RemedyKind.OFF in found else None) == moved

    def test_where_there_is_always_room_no_station_is_to_blame(self) -> None:
        roomy = [StationFlow("mats", None, {"a": 20.0})]
        found = remedies(roomy, loads(roomy, {"a": 5}, 5.0), "a")
        assert [remedy.kind for remedy in found] == [RemedyKind.OFF]
        assert found[0].after == found[0].before == Effect(0.0, 0.8)

    def test_a_loop_nobody_named_is_refused(self) -> None:
        with pytest.raises(KeyError):
            remedies(*floor(*TWO_LOOPS), "elsewhere")
