"""The floor: which setup stands on a day, and what a station and its variants may be."""

from datetime import date, timedelta

import pytest
from django.db.models import ProtectedError
from pytest_django import DjangoAssertNumQueries

from progress.engine import terms
from progress.models import Area, Loop, LoopStop, Setup, Skill, Station, Variant
from tests import makers
from tests.models.conftest import Refusal

WEEK = timedelta(weeks=1)


@pytest.fixture
def station(small_catalogue: dict[str, Skill]) -> Station:
    """A station with one base variant, in a setup without a week."""
    return makers.make_station(
        makers.make_setup(), "beam", variants=[small_catalogue["LAND-1"]], name="Beam"
    )


class TestWhatStandsOnTheFloor:
    """``today`` is a Monday."""

    @pytest.mark.parametrize("days", range(7))
    def test_a_setup_stands_all_week(self, db: None, today: date, days: int) -> None:
        this_week = makers.make_setup(today)
        makers.make_setup(today + WEEK)
        makers.make_setup(today - WEEK)
        assert Setup.objects.on_floor(today + timedelta(days=days)) == this_week

    def test_without_one_for_the_week_the_undated_one_stands(self, db: None, today: date) -> None:
        undated = makers.make_setup()
        makers.make_setup(today - WEEK)
        assert Setup.objects.on_floor(today) == undated

    def test_a_week_of_its_own_goes_before_the_undated_one(self, db: None, today: date) -> None:
        makers.make_setup()
        assert Setup.objects.on_floor(today) != makers.make_setup(today)
        assert Setup.objects.on_floor(today) == Setup.objects.get(week=today)

    def test_without_either_the_last_one_still_stands(self, db: None, today: date) -> None:
        makers.make_setup(today - 3 * WEEK)
        last = makers.make_setup(today - 2 * WEEK)
        makers.make_setup(today + WEEK)
        assert Setup.objects.on_floor(today) == last

    def test_a_draft_is_not_on_the_floor(self, db: None, today: date) -> None:
        last = makers.make_setup(today - WEEK)
        makers.make_setup(today, published=False)
        makers.make_setup(published=False)
        assert Setup.objects.on_floor(today) == last

    def test_an_empty_hall_has_none(self, db: None, today: date) -> None:
        makers.make_setup(today + WEEK)
        assert Setup.objects.on_floor(today) is None


class TestWhatTheDatabaseRefuses:
    @pytest.mark.parametrize("days", range(1, 7))
    def test_a_week_starts_on_a_monday(self, today: date, days: int, refused: Refusal) -> None:
        with refused(Setup, "setup_week_is_a_monday"):
            Setup.objects.bulk_create([Setup(week=today + timedelta(days=days))])

    def test_a_week_has_one_setup(self, today: date, refused: Refusal) -> None:
        makers.make_setup(today)
        with refused(Setup, "week"):
            Setup.objects.bulk_create([Setup(week=today, published=False)])

    def test_one_undated_setup_is_published(self, refused: Refusal) -> None:
        makers.make_setup()
        makers.make_setup(published=False)
        makers.make_setup(published=False)
        with refused(Setup, "one_undated_setup"):
            Setup.objects.bulk_create([Setup()])

    def test_an_area_code_is_used_once(self, refused: Refusal) -> None:
        makers.make_area("main")
        with refused(Area, "code"):
            Area.objects.bulk_create([Area(code="main", name="Another")])

    def test_a_station_code_is_used_once_in_a_setup(
        self, station: Station, refused: Refusal
    ) -> None:
        Station.objects.bulk_create(
            [Station(setup=makers.make_setup(published=False), code="beam")]
        )
        with refused(Station, "station_once_in_setup"):
            Station.objects.bulk_create([Station(setup=station.setup, code="beam")])

    def test_a_loop_code_is_used_once_in_a_setup(self, refused: Refusal) -> None:
        loop = makers.make_loop(makers.make_setup(), "low")
        with refused(Loop, "loop_once_in_setup"):
            Loop.objects.bulk_create([Loop(setup=loop.setup, area=loop.area, code="low")])

    def test_a_stop_has_one_station(self, station: Station, refused: Refusal) -> None:
        loop = makers.make_loop(station.setup, stations=[station])
        other = makers.make_station(station.setup)
        with refused(LoopStop, "one_station_a_stop"):
            LoopStop.objects.bulk_create([LoopStop(loop=loop, station=other, position=1)])

    def test_a_loop_comes_to_a_station_once(self, station: Station, refused: Refusal) -> None:
        loop = makers.make_loop(station.setup, stations=[station])
        with refused(LoopStop, "station_once_in_loop"):
            LoopStop.objects.bulk_create([LoopStop(loop=loop, station=station, position=2)])

    @pytest.mark.parametrize(
        ("constraint", "values"),
        [
            ("variant_once_at_station", {"code": "beam+0"}),
            ("one_variant_a_step", {"step": 0}),
            ("variant_height_is_metres", {"height_m": -0.1}),
            ("variant_height_is_metres", {"height_m": 45.0}),
            ("variant_has_a_lane", {"lanes": 0}),
            ("a_turn_takes_time", {"seconds": 0.0}),
        ],
    )
    def test_a_variant_must_make_sense(
        self, station: Station, constraint: str, values: dict[str, float], refused: Refusal
    ) -> None:
        base = station.variants.get()
        with refused(Variant, constraint):
            Variant.objects.bulk_create(
                [
                    Variant(
                        station=station, skill=base.skill, **({"code": "new", "step": 9} | values)
                    )
                ]
            )

    def test_a_skill_on_the_floor_cannot_be_deleted(self, station: Station) -> None:
        with pytest.raises(ProtectedError):
            station.variants.get().skill.delete()


class TestInTheWordsOfTheEngine:
    def test_a_variant_keeps_every_number(self, station: Station) -> None:
        variant = makers.make_variant(
            station,
            station.variants.get().skill,
            "high",
            step=2,
            difficulty=0.7,
            height_m=0.9,
            spotter=True,
            lanes=2,
            seconds=15.0,
            places=4,
            minimum_age=7.0,
        )
        assert variant.as_term() == terms.Variant(
            code="high",
            skill="LAND-1",
            step=2,
            difficulty=0.7,
            height_m=0.9,
            spotter=True,
            lanes=2,
            seconds=15.0,
            places=4,
            minimum_age=7.0,
        )

    def test_a_station_lists_its_variants_easiest_first(self, station: Station) -> None:
        skill = station.variants.get().skill
        for step in (3, -2):
            makers.make_variant(station, skill, step=step)
        assert [variant.step for variant in station.as_term().variants] == [-2, 0, 3]

    def test_a_loop_keeps_the_order_of_its_stops(self, floor: Setup) -> None:
        loop = floor.loops.get()
        assert [station.code for station in loop.as_term().stations] == ["jump", "bars"]
        LoopStop.objects.filter(station__code="jump").update(position=9)
        term = Loop.objects.get().as_term()
        assert [station.code for station in term.stations] == ["bars", "jump"]

    def test_a_loop_knows_the_youngest_childrens_area(self, db: None) -> None:
        setup = makers.make_setup()
        small = makers.make_loop(setup, area=makers.make_area("small", small=True))
        assert small.as_term().small_area
        assert not makers.make_loop(setup).as_term().small_area

    def test_a_prefetched_floor_asks_nothing_more(
        self, floor: Setup, django_assert_num_queries: DjangoAssertNumQueries
    ) -> None:
        wanted = "stops__station__variants__skill"
        (loop,) = Loop.objects.select_related("area").prefetch_related(wanted)
        with django_assert_num_queries(0):
            loop.as_term()


def test_constraints_are_the_engines_own() -> None:
    choices = Variant._meta.get_field("change").choices
    assert [value for value, _ in choices] == [str(one) for one in terms.Constraint]


def test_records_read_plainly(station: Station, today: date) -> None:
    assert str(station.setup) == "Standing floor"
    assert str(makers.make_setup(today)) == "Week of 02 Mar 2026"
    loop = makers.make_loop(station.setup, "low", stations=[station])
    assert str(loop.stops.get()) == "Low 1: Beam"
    assert str(station.variants.get()) == "beam+0"
