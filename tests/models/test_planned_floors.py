"""What planning adds to the floor: the library, replaced setups, facts of stations, equipment."""

from datetime import timedelta
from typing import Any

import pytest

from progress.models import (
    Area,
    Athlete,
    Equipment,
    GymClass,
    Setup,
    Skill,
    Station,
    StationEquipment,
    Variant,
)
from tests import makers
from tests.models.conftest import Refusal


class TestTheLibrary:
    def test_it_makes_itself_and_there_is_one(self, db: None, refused: Refusal) -> None:
        library = Setup.objects.library()
        assert Setup.objects.library() == library
        assert str(library) == "Station library"
        with refused(Setup, "one_station_library"):
            Setup.objects.bulk_create([Setup(library=True, published=False)])

    def test_it_stands_on_no_floor(self, db: None, refused: Refusal) -> None:
        Setup.objects.library()
        assert Setup.objects.on_floor(makers.TODAY) is None
        assert list(Setup.objects.plans()) == []
        for wrong in ({"published": True}, {"published": False, "week": makers.TODAY}):
            with refused(Setup, "library_is_on_no_floor"):
                Setup.objects.filter(library=True).delete()
                Setup.objects.bulk_create([Setup(library=True, **wrong)])


class TestSetupsThatWereReplaced:
    def test_they_are_off_the_floor_and_no_draft(self, db: None) -> None:
        old = makers.make_setup(published=False, stood_in=makers.TODAY)
        assert Setup.objects.on_floor(makers.TODAY) is None
        assert not old.is_draft
        assert makers.make_setup(published=False).is_draft

    @pytest.mark.parametrize("wrong", [{"published": True}, {"week": makers.TODAY}])
    def test_none_stands_again(self, refused: Refusal, wrong: dict[str, Any]) -> None:
        values = {"published": False, "stood_in": makers.TODAY, **wrong}
        with refused(Setup, "replaced_setup_is_off_the_floor"):
            Setup.objects.bulk_create([Setup(**values)])


class TestDraftsOfAWeek:
    """``TODAY`` is a Monday."""

    def test_they_are_on_no_floor_until_they_are_published(self, db: None) -> None:
        draft = makers.make_setup(published=False, planned_for=makers.TODAY)
        assert draft.is_draft
        assert draft.for_week == makers.TODAY
        assert str(draft) == "Week of 02 Mar 2026"
        assert Setup.objects.on_floor(makers.TODAY) is None

    def test_a_week_has_one(self, refused: Refusal) -> None:
        makers.make_setup(published=False, planned_for=makers.TODAY)
        with refused(Setup, "planned_for"):
            Setup.objects.bulk_create([Setup(published=False, planned_for=makers.TODAY)])

    @pytest.mark.parametrize(
        "wrong",
        [
            {"published": True},
            {"week": makers.TODAY},
            {"stood_in": makers.TODAY},
            {"library": True},
            {"planned_for": makers.TODAY + timedelta(days=1)},
        ],
    )
    def test_only_a_draft_is_planned_and_for_a_monday(
        self, refused: Refusal, wrong: dict[str, Any]
    ) -> None:
        values = {"published": False, "planned_for": makers.TODAY, **wrong}
        with refused(Setup, "draft_is_planned_for_a_monday"):
            Setup.objects.bulk_create([Setup(**values)])


def test_setups_that_attempts_point_at_are_in_use(
    ada: Athlete, coach: Any, small_catalogue: dict[str, Skill]
) -> None:
    used, other = makers.make_setup(makers.TODAY), makers.make_setup()
    stations = [
        makers.make_station(setup, variants=[small_catalogue["LAND-1"]]) for setup in (used, other)
    ]
    for _ in range(2):
        makers.make_attempt(
            ada, small_catalogue["LAND-1"], coach=coach, variant=stations[0].variants.get()
        )
    assert list(Setup.objects.in_use()) == [used]


def test_an_area_has_some_space_or_none_is_written_down(refused: Refusal) -> None:
    Area.objects.bulk_create([Area(code="a", space_m2=120.0), Area(code="b")])
    with refused(Area, "area_has_space"):
        Area.objects.bulk_create([Area(code="c", space_m2=0.0)])


class TestStations:
    @pytest.fixture
    def setup(self, db: None) -> Setup:
        return makers.make_setup()

    @pytest.mark.parametrize(
        ("constraint", "value"),
        [
            ("station_space_m2_is_metres", {"space_m2": 0.0}),
            ("station_mat_rated_m_is_metres", {"mat_rated_m": -1.0}),
            ("station_clear_m_is_metres", {"clear_m": 0.0}),
            ("station_spacing_m_is_metres", {"spacing_m": 1001.0}),
            ("station_swing_m_is_metres", {"swing_m": 0.0}),
            ("station_kind_is_known", {"kind": "trampoline"}),
            ("mat_is_known", {"mat": "sofa"}),
        ],
    )
    def test_facts_are_metres_and_known_words(
        self, setup: Setup, refused: Refusal, constraint: str, value: dict[str, Any]
    ) -> None:
        Station.objects.bulk_create([Station(setup=setup, code="a", space_m2=12.0, clear_m=1.5)])
        with refused(Station, constraint):
            Station.objects.bulk_create([Station(setup=setup, code="b", **value)])

    def test_a_grip_is_within_reach_of_a_hall(
        self, setup: Setup, refused: Refusal, small_catalogue: dict[str, Skill]
    ) -> None:
        station = makers.make_station(setup, "bar")
        skill = small_catalogue["HANG-1"]
        makers.make_variant(station, skill, hand_height_m=1.9)
        for wrong in (0.0, 10.5):
            with refused(Variant, "variant_hand_height_is_metres"):
                Variant.objects.bulk_create(
                    [Variant(station=station, skill=skill, code="v", step=1, hand_height_m=wrong)]
                )

    def test_each_thing_it_takes_is_named_once_and_some_of_it(
        self, setup: Setup, refused: Refusal
    ) -> None:
        station = makers.make_station(setup, "box")
        box = Equipment.objects.create(code="box", name="Box", count=3)
        mats = Equipment.objects.create(code="mat", name="Mat", count=9)
        link = StationEquipment.objects.create(station=station, equipment=box, count=2)
        assert (str(box), str(link)) == ("Box (3)", "2 x Box")
        with refused(StationEquipment, "equipment_named_once_a_station"):
            StationEquipment.objects.bulk_create(
                [StationEquipment(station=station, equipment=box, count=1)]
            )
        with refused(StationEquipment, "station_takes_some_of_it"):
            StationEquipment.objects.bulk_create(
                [StationEquipment(station=station, equipment=mats, count=0)]
            )


def test_how_bold_practice_should_be_is_one_of_three(
    refused: Refusal, small_catalogue: dict[str, Skill]
) -> None:
    tier = small_catalogue["LAND-1"].tier
    with refused(Athlete, "athlete_challenge_is_known"):
        Athlete.objects.bulk_create([Athlete(code="a", tier=tier, challenge="wild")])
    with refused(GymClass, "class_challenge_is_known"):
        GymClass.objects.bulk_create([GymClass(code="c", challenge="wild")])


def test_a_setup_of_last_week_is_still_a_plan(db: None) -> None:
    old = makers.make_setup(makers.TODAY - timedelta(weeks=1))
    assert list(Setup.objects.plans()) == [old]
