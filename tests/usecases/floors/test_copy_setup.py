"""Copying a week: everything comes along, nothing is shared with what it came from."""

from datetime import date, timedelta

import pytest
from django.db import connection
from django.forms.models import model_to_dict
from django.test.utils import CaptureQueriesContext

from progress.models import (
    Equipment,
    Loop,
    Setup,
    Skill,
    StaffMember,
    Station,
    StationEquipment,
    Variant,
)
from progress.usecases.floors.changes import FloorRefused
from progress.usecases.floors.copy_setup import copy_setup
from progress.usecases.floors.weeks import free_weeks, next_free
from tests import makers
from tests.usecases.floors.floors import Hall, make_hall, order_of

WEEK = timedelta(weeks=1)


def facts(record: Station | Variant | Loop) -> dict[str, object]:
    """Everything but which record it is and what it belongs to."""
    left = {"id", "setup", "station", "equipment", "stations"}
    return {name: value for name, value in model_to_dict(record).items() if name not in left}


@pytest.fixture
def last_week(small_catalogue: dict[str, Skill], today: date) -> Hall:
    """Last week's published setup, with every kind of fact."""
    hall = make_hall(small_catalogue["LAND-1"], published=True, week=today - WEEK, name="Round")
    Station.objects.filter(pk=hall.beam.pk).update(
        kind="beam",
        space_m2=14.0,
        mat="firm",
        mat_rated_m=1.2,
        mat_checked=today,
        clear_m=1.5,
        spacing_m=2.0,
        swing_m=3.0,
        way_down=True,
        small_area=True,
    )
    Variant.objects.filter(station=hall.beam).update(
        name="Narrow",
        change="width",
        difficulty=0.4,
        height_m=0.3,
        hand_height_m=1.1,
        spotter=True,
        lanes=2,
        seconds=20.0,
        places=6,
        minimum_age=5.0,
        caution="Mats on both sides.",
    )
    bench = Equipment.objects.create(code="bench", name="Bench", count=4)
    StationEquipment.objects.create(station=hall.beam, equipment=bench, count=2)
    return hall


class TestWhatComesAlong:
    def test_every_fact_of_every_part_and_no_record_is_shared(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        copy = copy_setup(source=last_week.setup, week=today, today=today, by=coach)

        for old in last_week.setup.stations.all():
            new = copy.stations.get(code=old.code)
            assert new.pk != old.pk
            assert facts(new) == facts(old)
            assert [facts(one) for one in new.variants.all()] == [
                facts(one) for one in old.variants.all()
            ]
            assert list(new.equipment_links.values_list("equipment__code", "count")) == list(
                old.equipment_links.values_list("equipment__code", "count")
            )
        for loop in last_week.setup.loops.all():
            twin = copy.loops.get(code=loop.code)
            assert facts(twin) == facts(loop)
            assert order_of(twin) == order_of(loop)
        assert copy.stations.get(code="beam").equipment_links.get().count == 2

    def test_a_shared_station_is_still_one(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        copy = copy_setup(source=last_week.setup, week=today, today=today, by=coach)

        assert copy.stations.count() == 5
        assert copy.stations.get(code="start").loops.count() == 2

    def test_it_is_a_draft_of_its_week(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        copy = copy_setup(source=last_week.setup, week=today, today=today, by=coach)

        assert copy.is_draft
        assert (copy.week, copy.planned_for, copy.for_week) == (None, today, today)
        assert copy.name == "Round"
        assert Setup.objects.on_floor(today) == last_week.setup

    def test_what_is_put_aside_stays_behind_and_holes_are_closed(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        last_week.left.stops.filter(station=last_week.beam).delete()

        copy = copy_setup(source=last_week.setup, week=today, today=today, by=coach)

        assert not copy.stations.filter(code="beam").exists()
        assert order_of(copy.loops.get(code="left")) == ["start", "drop"]

    def test_changing_the_copy_leaves_the_first_alone(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        copy = copy_setup(source=last_week.setup, week=today, today=today, by=coach)
        copy.stations.all().delete()

        assert last_week.setup.stations.count() == 5
        assert order_of(last_week.left) == ["start", "beam", "drop"]

    def test_an_empty_start_is_empty(self, db: None, today: date, coach: StaffMember) -> None:
        draft = copy_setup(source=None, week=today + WEEK, today=today, by=coach)

        assert not draft.loops.exists()
        assert draft.planned_for == today + WEEK


def test_a_hall_of_three_loops_of_eight_takes_no_more_questions_than_a_small_one(
    last_week: Hall, today: date, coach: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    def questions(source: Setup, week: date) -> int:
        with CaptureQueriesContext(connection) as asked:
            copy_setup(source=source, week=week, today=today, by=coach)
        return len(asked)

    few = questions(last_week.setup, today)
    full = makers.make_setup(today - 2 * WEEK)
    for letter in "abc":
        makers.make_loop(
            full,
            letter,
            stations=[
                makers.make_station(full, variants=[small_catalogue["LAND-1"]] * 3)
                for _ in range(8)
            ],
        )
    bench = Equipment.objects.get(code="bench")
    StationEquipment.objects.bulk_create(
        StationEquipment(station=one, equipment=bench) for one in full.stations.all()
    )

    # SQLite takes 999 values at a time, so 72 variants go in two parts.
    more = 1 if connection.vendor == "sqlite" else 0
    assert questions(full, today + WEEK) - more == few == 16


class TestWhichWeeks:
    def test_weeks_without_a_plan_are_offered_and_the_next_one_first(
        self, last_week: Hall, today: date, coach: StaffMember
    ) -> None:
        makers.make_setup(today)
        copy_setup(source=None, week=today + WEEK, today=today, by=coach)

        free = free_weeks(today=today)

        assert free[0] == today + 2 * WEEK
        assert next_free(free, today=today) == today + 2 * WEEK

    def test_this_week_is_offered_but_not_first(self, db: None, today: date) -> None:
        free = free_weeks(today=today + timedelta(days=3))

        assert free[0] == today
        assert next_free(free, today=today) == today + WEEK

    @pytest.mark.parametrize(
        ("days", "words"), [(-7, "is past"), (1, "is no Monday"), (0, "published setup already")]
    )
    def test_no_draft_where_none_can_be(
        self, today: date, coach: StaffMember, days: int, words: str
    ) -> None:
        makers.make_setup(today)

        with pytest.raises(FloorRefused, match=words):
            copy_setup(source=None, week=today + timedelta(days=days), today=today, by=coach)

    def test_a_week_has_one_draft(self, db: None, today: date, coach: StaffMember) -> None:
        copy_setup(source=None, week=today, today=today, by=coach)

        with pytest.raises(FloorRefused, match="has a draft already"):
            copy_setup(source=None, week=today, today=today, by=coach)

    def test_a_coach_who_was_slower_is_told(
        self, db: None, today: date, coach: StaffMember, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """As if the other's draft came between the look and the write."""
        name = "progress.usecases.floors.copy_setup.refuse_taken"
        monkeypatch.setattr(name, lambda week, today: None)
        copy_setup(source=None, week=today, today=today, by=coach)

        with pytest.raises(FloorRefused, match="Another coach has just started"):
            copy_setup(source=None, week=today, today=today, by=coach)
        assert Setup.objects.filter(planned_for=today).count() == 1

    def test_the_desk_copies_nothing(self, db: None, today: date, desk: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="Only a coach or the lead"):
            copy_setup(source=None, week=today, today=today, by=desk)

    def test_the_library_is_no_setup(self, db: None, today: date, coach: StaffMember) -> None:
        with pytest.raises(FloorRefused, match="library is no setup"):
            copy_setup(source=Setup.objects.library(), week=today, today=today, by=coach)
