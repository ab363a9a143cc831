"""Limits of the hall: each is kept, and named where it stands in the way."""

from dataclasses import replace

import pytest
from scipy.optimize import OptimizeResult, milp

from progress.engine import station_solver
from progress.engine.station_answers import Answer
from progress.engine.station_choice import propose
from progress.engine.station_demand import (
    Demand,
    Floor,
    FloorArea,
    LibraryStation,
    Standing,
)
from progress.engine.station_solver import Limit, LimitKind
from tests.engine.small_halls import (
    LIBRARY,
    MAIN,
    changed,
    demand,
    hall,
    needing,
    practised,
    practised_in,
)


class TestLimits:
    """Every one of these would put the bar in, were it not for one limit."""

    needs = needing(balance=1, hang=5)

    def binding(self, floor: Floor) -> list[Limit]:
        proposal = propose(demand(*self.needs, library=floor.library), floor)
        assert proposal.answer is Answer.AS_GOOD
        assert proposal.swaps == ()
        assert all(one.gain and one.gain > 0 for one in proposal.binding)
        return [one.limit for one in proposal.binding]

    def test_without_limits_the_bar_comes(self) -> None:
        assert propose(demand(*self.needs), hall("beam")).swaps[0].into == "bar"

    def test_floor_space(self) -> None:
        floor = hall(
            "beam", library=changed("bar", space_m2=12.5), areas=(FloorArea("main", space_m2=12.0),)
        )
        assert self.binding(floor) == [Limit(LimitKind.SPACE, "main")]
        roomy = replace(floor, areas=(FloorArea("main", space_m2=12.5),))
        assert propose(demand(*self.needs), roomy).swaps[0].into == "bar"

    def test_equipment(self) -> None:
        library = changed("bar", equipment=(("mat", 3), ("frame", 1)))
        floor = hall("beam", library=library, equipment={"mat": 2, "frame": 1})
        assert self.binding(floor) == [Limit(LimitKind.EQUIPMENT, "mat")]
        enough = replace(floor, equipment={"mat": 3, "frame": 1})
        assert propose(demand(*self.needs), enough).swaps[0].into == "bar"

    def test_equipment_nobody_counted_sets_no_limit(self) -> None:
        floor = hall("beam", library=changed("bar", equipment=(("mat", 3),)))
        assert propose(demand(*self.needs), floor).swaps[0].into == "bar"

    def test_what_the_coach_wants_to_stay(self) -> None:
        floor = hall("beam", standing=(Standing("main", "beam", fixed=True),))
        assert self.binding(floor) == [Limit(LimitKind.FIXED)]

    def test_small_area_stations(self) -> None:
        floor = hall("beam", library=changed("bar", small_area=True))
        assert self.binding(floor) == [Limit(LimitKind.SMALL_AREA)]
        small = replace(floor, areas=(FloorArea("main", small=True),))
        assert propose(demand(*self.needs), small).swaps[0].into == "bar"

    def test_changes_are_named_where_only_more_of_them_would_help(self) -> None:
        library = tuple(
            replace(one, equipment=(("mat", 2 if one.code == "bar" else 1),)) for one in LIBRARY
        )
        # Bar takes two mats; with three in all another station must make way for one that
        # takes none, and the spare serves nobody.
        library = (*library, LibraryStation("spare"))
        needs = needing(balance=3, climb=3, hang=7)
        fits = Demand.asking(needs, library, practised_in)
        floor = hall("beam", "net", library=library, equipment={"mat": 2})
        proposal = propose(fits, floor)
        assert proposal.answer is Answer.AS_GOOD
        assert {one.limit for one in proposal.binding} == {
            Limit(LimitKind.CHANGES),
            Limit(LimitKind.EQUIPMENT, "mat"),
        }
        assert "The number of changes" in " ".join(one.why for one in proposal.binding)
        twice = propose(fits, floor, changes=2)
        assert {one.into for one in twice.swaps} == {"bar", "spare"}
        assert twice.swaps[0].alone
        assert twice.swaps[0].into == "spare"


class TestImpossible:
    def test_a_fixed_station_that_takes_more_than_there_is(self) -> None:
        library = changed("beam", space_m2=30.0)
        floor = Floor(
            (FloorArea("main", space_m2=20.0),), library, (Standing("main", "beam", fixed=True),)
        )
        proposal = propose(demand(*needing(hang=1)), floor)
        assert proposal.answer is Answer.IMPOSSIBLE
        assert [one.limit for one in proposal.binding] == [
            Limit(LimitKind.SPACE, "main"),
            Limit(LimitKind.FIXED),
        ]
        assert proposal.broken == (Limit(LimitKind.SPACE, "main"),)
        assert proposal.swaps == ()
        assert "The floor space of main" in proposal.why

    def test_a_fixed_small_area_station_on_the_main_floor(self) -> None:
        library = changed("beam", small_area=True)
        floor = Floor((MAIN,), library, (Standing("main", "beam", fixed=True),))
        proposal = propose(demand(*needing(hang=1)), floor)
        assert proposal.answer is Answer.IMPOSSIBLE
        assert {one.limit.kind for one in proposal.binding} == {
            LimitKind.FIXED,
            LimitKind.SMALL_AREA,
        }

    def test_more_changes_would_do_it(self) -> None:
        library = tuple(replace(one, equipment=(("mat", 1),)) for one in LIBRARY)
        library = (*library, LibraryStation("spare"), LibraryStation("spare-2"))
        floor = hall("beam", "net", library=library, equipment={"mat": 0})
        proposal = propose(Demand.asking(needing(hang=1), library, practised_in), floor)
        assert proposal.answer is Answer.IMPOSSIBLE
        assert Limit(LimitKind.CHANGES) in [one.limit for one in proposal.binding]

    def test_several_limits_together_are_said_to_be_several(self) -> None:
        library = changed("beam", space_m2=30.0, equipment=(("mat", 5),))
        areas = (FloorArea("main", space_m2=20.0),)
        only = tuple(one for one in library if one.code == "beam")
        floor = Floor(areas, only, (Standing("main", "beam"),), {"mat": 4})
        proposal = propose(Demand.asking((), only, practised), floor)
        assert proposal.binding == ()
        assert "several limits together" in proposal.why

    def test_a_floor_over_its_limits_is_mended_even_at_a_loss(self) -> None:
        library = changed("beam", space_m2=30.0)
        floor = hall("beam", library=library, areas=(FloorArea("main", space_m2=20.0),))
        proposal = propose(demand(*needing(balance=5, hang=1)), floor)
        assert proposal.answer is Answer.CHANGE
        assert proposal.swaps[0].into == "bar"
        assert proposal.weight_after < proposal.weight_before
        assert "breaks a limit" in proposal.why


class TestTheSolver:
    def test_where_it_gives_up_it_is_asked_again_the_plain_way(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def gives_up(cost: object, *, options: dict[str, object], **rest: object) -> object:
            if options["presolve"]:
                return OptimizeResult(x=None, status=4, message="Solve error")
            return milp(cost, options=options, **rest)

        monkeypatch.setattr(station_solver, "milp", gives_up)
        proposal = propose(demand(*needing(balance=1, hang=5)), hall("beam"))
        assert proposal.swaps[0].into == "bar"

    def test_where_it_has_no_answer_at_all_it_says_so(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        nothing = OptimizeResult(x=None, status=4, message="Solve error")
        monkeypatch.setattr(station_solver, "milp", lambda *_, **__: nothing)
        with pytest.raises(RuntimeError, match="no answer: Solve error"):
            propose(demand(*needing(hang=5)), hall("beam"))
