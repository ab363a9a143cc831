"""What the floor practises against what children need, and the station proposed."""

from dataclasses import replace

import numpy as np
import pytest

from progress.engine.station_answers import Answer, CoverRow
from progress.engine.station_choice import cover, propose
from progress.engine.station_demand import (
    Demand,
    Floor,
    LibraryStation,
    Need,
    Standing,
)
from tests.engine.small_halls import (
    LIBRARY,
    MAIN,
    SMALL,
    demand,
    hall,
    needing,
    practised,
    practised_in,
)


class TestCover:
    def test_it_counts_children_who_need_and_children_served(self) -> None:
        needs = (
            Need("ada", "balance", 0.5),
            Need("ada", "climb", 0.5),
            Need("bo", "climb", 1.0),
            Need("cy", "hang", 1.0),
        )
        places = {"balance": ("ground", 1), "climb": ("up", 2), "hang": ("up", 1)}
        assert cover(demand(*needs), hall("beam", "net"), places) == (
            CoverRow("ground", 1, 1, 1, 0.5, 0.5),
            CoverRow("up", 1, 1, 0, 1.0, 0.0),
            CoverRow("up", 2, 2, 2, 1.5, 1.5),
        )

    def test_a_child_with_two_skills_of_a_ladder_and_tier_counts_once(self) -> None:
        needs = (Need("ada", "climb", 0.5), Need("ada", "hang", 0.5))
        rows = cover(demand(*needs), hall("net"), {"climb": ("up", 1), "hang": ("up", 1)})
        assert rows == (CoverRow("up", 1, 1, 1, 1.0, 0.5),)

    def test_a_station_in_an_area_the_child_does_not_train_in_serves_nobody(self) -> None:
        floor = Floor((MAIN, SMALL), LIBRARY, (Standing("main", "net"),))
        needs = (Need("ada", "climb", area="small"), Need("bo", "climb", area="main"))
        (row,) = cover(demand(*needs), floor, {"climb": ("up", 1)})
        assert (row.needing, row.served) == (2, 1)

    def test_a_barred_child_is_not_served(self) -> None:
        needs = needing(climb=2)
        barred = Demand.asking(needs, LIBRARY, lambda n, s: practised(n, s) and n != needs[0])
        (row,) = cover(barred, hall("net"), {"climb": ("up", 1)})
        assert row.served == 1


class TestProposing:
    def test_the_least_needed_station_goes_for_the_most_needed(self) -> None:
        needs = needing(balance=4, climb=2, hang=7)
        named = replace(demand(*needs), names={"hang": "Dead hang", "climb": "Net climb"})
        proposal = propose(named, hall("beam", "net"))
        assert proposal.answer is Answer.CHANGE
        (swap,) = proposal.swaps
        assert (swap.area, swap.out, swap.into) == ("main", "net", "bar")
        assert (swap.children_before, swap.children_after, swap.gain) == (6, 11, 5.0)
        assert [(s.skill, s.needing, s.before, s.after) for s in swap.skills] == [
            ("hang", 7, 0, 7),
            ("climb", 2, 2, 0),
        ]
        assert proposal.why == (
            "Bar instead of Net: the floor serves 11 children instead of 6 "
            "(Dead hang 0 to 7, Net climb 2 to 0)."
        )
        assert (proposal.weight, proposal.weight_before, proposal.weight_after) == (13, 6, 11)
        assert (proposal.children, proposal.children_before, proposal.children_after) == (13, 6, 11)

    def test_several_swaps_come_with_the_greatest_gain_first(self) -> None:
        needs = needing(balance=1, climb=2, hang=5, rolling=9, vault=1)
        proposal = propose(demand(*needs), hall("beam", "net"), changes=2)
        assert [(one.out, one.into) for one in proposal.swaps] == [("beam", "roll"), ("net", "bar")]
        gains = [one.gain for one in proposal.swaps]
        assert gains == [8.0, 3.0]
        assert proposal.weight_after - proposal.weight_before == pytest.approx(sum(gains))

    def test_weight_decides_and_not_the_number_of_children(self) -> None:
        light = [Need(f"l{n}", "hang", 0.1) for n in range(5)]
        proposal = propose(demand(Need("a", "balance", 1.0), *light), hall("beam"))
        assert proposal.answer is Answer.AS_GOOD

    def test_a_need_served_already_is_worth_nothing_more(self) -> None:
        library = (*LIBRARY, LibraryStation("net2"))
        needs = needing(climb=9, balance=1)
        fits = Demand.asking(
            needs,
            library,
            lambda n, s: (s.code == "net2" and n.skill == "climb") or practised_in(n, s),
        )
        assert propose(fits, hall("net", "beam", library=library)).answer is Answer.AS_GOOD

    def test_no_more_swaps_than_help(self) -> None:
        proposal = propose(demand(*needing(balance=4, hang=7)), hall("beam", "net"), changes=3)
        assert [(one.out, one.into) for one in proposal.swaps] == [("net", "bar")]

    def test_of_equally_good_stations_the_first_by_code_comes(self) -> None:
        needs = needing(hang=3, rolling=3, vault=3)
        assert propose(demand(*needs), hall("net", "beam")).swaps[0].into == "bar"

    def test_when_nothing_is_better_it_says_so(self) -> None:
        proposal = propose(demand(*needing(balance=4)), hall("beam"))
        assert (proposal.answer, proposal.swaps, proposal.binding) == (Answer.AS_GOOD, (), ())
        assert proposal.why == "No station of the library would serve more of what children need."

    def test_when_nobody_needs_anything_it_says_so(self) -> None:
        assert "Nobody is held back" in propose(demand(), hall("beam")).why

    def test_an_empty_floor_stays_empty(self) -> None:
        proposal = propose(demand(*needing(hang=1)), hall())
        assert (proposal.answer, proposal.children_after) == (Answer.AS_GOOD, 0)

    @pytest.mark.parametrize("changes", [0, 4, -1])
    def test_one_to_three_changes_may_be_asked_for(self, changes: int) -> None:
        with pytest.raises(ValueError, match="between 1 and 3"):
            propose(demand(), hall("beam"), changes=changes)


class TestWhatIsRefused:
    def test_a_need_without_weight(self) -> None:
        with pytest.raises(ValueError, match="weighs more than 0"):
            demand(Need("a", "hang", 0.0))

    def test_a_child_s_skill_named_twice(self) -> None:
        with pytest.raises(ValueError, match="need named twice"):
            demand(Need("a", "hang"), Need("a", "hang"))

    def test_a_station_standing_twice_in_an_area(self) -> None:
        with pytest.raises(ValueError, match="named twice"):
            hall("beam", "beam")

    def test_a_station_the_library_lacks(self) -> None:
        with pytest.raises(ValueError, match="not in the library"):
            hall("trapeze")

    def test_fits_of_another_shape(self) -> None:
        with pytest.raises(ValueError, match="one row for each need"):
            Demand(needing(hang=1), np.zeros((2, 5), dtype=np.bool_))
        with pytest.raises(ValueError, match="one column for each station"):
            propose(Demand(needing(hang=1), np.zeros((1, 2), dtype=np.bool_)), hall("beam"))
