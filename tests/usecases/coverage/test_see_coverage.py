"""A floor against what the children who use it need, and what would serve more of them."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from progress.engine.station_answers import Answer
from progress.engine.station_solver import LimitKind
from progress.models import Athlete, Equipment, GymClass, Setup, Skill, StationEquipment
from progress.usecases.coverage.gather_needs import shares
from progress.usecases.coverage.see_coverage import Coverage, SkillNeeded, see_coverage
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def skills(small_catalogue: dict[str, Skill]) -> dict[str, Skill]:
    """The small catalogue with another skill of tier 1 that holds nobody back."""
    roll = makers.make_skill("ROLL-1", ladder="rolling", name="Roll like a log", required=False)
    return {**small_catalogue, "ROLL-1": roll}


@pytest.fixture
def setup_(skills: dict[str, Skill]) -> Setup:
    """A draft of one loop in the main area: something to land on, and nothing to hang from."""
    setup = makers.make_setup(None, published=False, name="Draft")
    land = makers.make_station(setup, "land", name="Landing", variants=[skills["LAND-1"]])
    again = makers.make_station(setup, "again", name="Landing again", variants=[skills["LAND-1"]])
    makers.make_loop(setup, "A", stations=(land, again))
    return setup


@pytest.fixture
def library(skills: dict[str, Skill]) -> Setup:
    """A library with a bar and a mat to roll on."""
    library = Setup.objects.library()
    makers.make_station(library, "bar", name="Bar", variants=[skills["HANG-1"]], space_m2=10.0)
    makers.make_station(library, "mat", name="Mat", variants=[skills["ROLL-1"]], space_m2=10.0)
    return library


def look(setup: Setup, **asked: object) -> Coverage:
    return see_coverage(setup=setup, today=makers.TODAY, **asked)  # type: ignore[arg-type]


def needed(coverage: Coverage, code: str) -> SkillNeeded:
    return next(one for one in coverage.skills if one.skill.code == code)


def test_a_childs_one_vote_is_shared_with_most_for_the_first() -> None:
    assert shares(1) == [1.0]
    assert shares(3) == pytest.approx([3 / 6, 2 / 6, 1 / 6])
    assert sum(shares(4)) == pytest.approx(1.0)
    assert shares(0) == []


@pytest.mark.usefixtures("monday_class", "library")
def test_a_skill_nobody_can_practise_here_is_nowhere_and_its_designs_are_named(
    setup_: Setup,
) -> None:
    coverage = look(setup_)
    hang = needed(coverage, "HANG-1")

    assert (hang.needing, hang.served, hang.stations) == (1, 0, ())  # Bo; Ada hangs well
    assert hang.designs == ("Bar",)
    assert coverage.children == 2


@pytest.mark.usefixtures("monday_class")
def test_a_station_that_practises_it_serves_the_child(
    setup_: Setup, skills: dict[str, Skill]
) -> None:
    bar = makers.make_station(setup_, "bar", name="Low bar", variants=[skills["HANG-1"]])
    makers.make_loop(setup_, "B", stations=(bar,))

    hang = needed(look(setup_), "HANG-1")

    assert (hang.needing, hang.served, hang.stations) == (1, 1, ("Low bar",))


@pytest.mark.usefixtures("monday_class")
def test_a_station_put_aside_serves_nobody(setup_: Setup, skills: dict[str, Skill]) -> None:
    makers.make_station(setup_, "bar", name="Low bar", variants=[skills["HANG-1"]])

    assert needed(look(setup_), "HANG-1").served == 0


@pytest.mark.usefixtures("monday_class")
def test_what_speaks_against_sending_a_child_there_is_told_and_the_child_is_not_served(
    setup_: Setup, skills: dict[str, Skill]
) -> None:
    bar = makers.make_station(setup_, "bar", name="High bar")
    makers.make_variant(bar, skills["HANG-1"], minimum_age=12.0)
    makers.make_loop(setup_, "B", stations=(bar,))

    hang = needed(look(setup_), "HANG-1")

    assert (hang.served, hang.stations) == (0, ("High bar",))
    assert hang.barred == {"for 12 years and up": 1}


@pytest.mark.usefixtures("monday_class")
def test_a_child_on_hold_is_counted_apart_and_asks_for_nothing(setup_: Setup, bo: Athlete) -> None:
    before = look(setup_)
    makers.make_hold(bo)

    coverage = look(setup_)

    assert (before.held, coverage.held) == (0, 1)
    assert coverage.children == 2
    assert "HANG-1" not in {one.skill.code for one in coverage.skills}


def test_small_area_classes_count_for_small_areas_and_hall_classes_for_halls(
    setup_: Setup, skills: dict[str, Skill], bo: Athlete
) -> None:
    makers.make_class("little", athletes=(bo,), small_area=True)
    bar = makers.make_station(setup_, "bar", name="Hall bar", variants=[skills["HANG-1"]])
    makers.make_loop(setup_, "B", stations=(bar,))
    assert look(setup_).classes == ()  # no loop of this floor is theirs

    wedge = makers.make_station(setup_, "wedge", variants=[skills["ROLL-1"]])
    makers.make_loop(setup_, "S", stations=(wedge,), area=makers.make_area("small", small=True))
    hang = needed(look(setup_), "HANG-1")
    assert (hang.needing, hang.served, hang.stations) == (1, 0, ())


@pytest.mark.parametrize("other", ["side", "small"])
def test_a_child_counts_once_and_is_served_in_every_area_it_trains_in(
    setup_: Setup, skills: dict[str, Skill], bo: Athlete, other: str
) -> None:
    """A hall in two parts, and a child in classes of both kinds."""
    makers.make_class("hall", athletes=(bo,))
    if other == "small":
        makers.make_class("little", athletes=(bo,), small_area=True)
    bar = makers.make_station(setup_, "bar", name="Bar there", variants=[skills["HANG-1"]])
    area = makers.make_area(other, small=other == "small")
    makers.make_loop(setup_, "B", stations=(bar,), area=area)

    coverage = look(setup_)

    assert coverage.children == 1
    assert needed(coverage, "HANG-1").served == 1
    assert sum(row.weight for row in coverage.rows) == pytest.approx(1.0)


def test_only_the_chosen_classes_are_compared(setup_: Setup, ada: Athlete, bo: Athlete) -> None:
    makers.make_class("one", athletes=(ada,))
    makers.make_class("two", athletes=(bo,))

    assert [one.code for one in look(setup_).chosen] == ["one", "two"]
    coverage = look(setup_, classes=["one", "no-such"])
    assert [one.code for one in coverage.chosen] == ["one"]
    assert coverage.children == 1
    assert look(setup_, classes=[]).children == 0


def test_somebody_who_left_or_comes_later_is_not_counted(setup_: Setup, bo: Athlete) -> None:
    day = timedelta(days=1)
    gym_class = makers.make_class("one", athletes=(bo,))
    makers.enrol(makers.make_athlete("gone", left=makers.TODAY), gym_class)
    makers.enrol(makers.make_athlete("later"), gym_class, since=makers.TODAY + day)
    makers.enrol(makers.make_athlete("ended"), gym_class, until=makers.TODAY - day)

    assert look(setup_).children == 1


class TestTheProposal:
    """What would serve more, and what stands in the way."""

    @pytest.mark.usefixtures("monday_class", "library")
    def test_it_names_what_comes_what_goes_and_where(self, setup_: Setup) -> None:
        coverage = look(setup_)

        (swap,) = coverage.swaps
        assert swap.into.name == "Bar"
        assert swap.into.setup.library
        assert swap.out.setup == setup_
        assert [(loop.code, place) for loop, place in swap.places] in ([("A", 1)], [("A", 2)])
        assert "Bar instead of Landing" in swap.why

    @pytest.mark.usefixtures("monday_class", "library")
    def test_what_a_coach_keeps_is_not_taken_away(self, setup_: Setup) -> None:
        stations = list(setup_.stations.values_list("pk", flat=True))

        coverage = look(setup_, fixed=stations)

        assert coverage.swaps == ()
        assert coverage.proposal is not None
        assert {one.limit.kind for one in coverage.proposal.binding} == {LimitKind.FIXED}

    @pytest.mark.usefixtures("monday_class", "library")
    def test_the_space_that_keeps_it_out_is_named_as_the_area_is(self, setup_: Setup) -> None:
        area = makers.make_area()
        area.name, area.space_m2 = "Big hall", 9.0
        area.save()

        proposal = look(setup_).proposal

        assert proposal is not None
        assert proposal.answer is Answer.AS_GOOD
        assert "The floor space of Big hall" in proposal.binding[0].why

    @pytest.mark.usefixtures("monday_class")
    def test_the_equipment_that_is_missing_is_named_by_its_name(
        self, setup_: Setup, library: Setup
    ) -> None:
        kind = Equipment.objects.create(code="bar", name="Hanging bars", count=0)
        bar = library.stations.get(code="bar")
        StationEquipment.objects.create(station=bar, equipment=kind, count=1)

        proposal = look(setup_).proposal

        assert proposal is not None
        assert [one.limit.name for one in proposal.binding] == ["Hanging bars"]

    @pytest.mark.usefixtures("monday_class")
    def test_a_library_station_that_stands_already_is_not_offered_again(
        self, setup_: Setup, library: Setup, skills: dict[str, Skill]
    ) -> None:
        bar = makers.make_station(setup_, "bar", variants=[skills["HANG-1"]], space_m2=10.0)
        makers.make_loop(setup_, "B", stations=(bar,))

        coverage = look(setup_)

        assert coverage.library_size == library.stations.count()
        assert coverage.swaps == ()

    def test_an_empty_floor_has_none(self, monday_class: GymClass) -> None:
        coverage = look(makers.make_setup(None, published=False))

        assert coverage.proposal is None
        assert coverage.skills == ()


def queries(setup: Setup) -> int:
    with CaptureQueriesContext(
        connection,
    ) as made:
        look(setup, changes=3)
    return len(made)


def test_a_larger_gym_and_a_fuller_floor_cost_no_more_queries(
    setup_: Setup, library: Setup, skills: dict[str, Skill], monday_class: GymClass
) -> None:
    look(setup_)  # the engine learns from the log once
    before = queries(setup_)
    for number in range(6):
        athlete = makers.make_athlete()
        makers.enrol(athlete, monday_class)
        makers.make_attempt(athlete, skills["LAND-1"])
        makers.make_class(athletes=(athlete,))
        for there in (setup_, library):
            makers.make_station(there, f"more-{number}", variants=skills.values())
        makers.make_loop(setup_, stations=[setup_.stations.get(code=f"more-{number}")])

    assert queries(setup_) == before <= 20
