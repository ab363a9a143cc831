"""The made-up floors: ten weeks of loops that split, cross and meet again."""

from collections import defaultdict
from datetime import date, timedelta

import pytest
from django.db.models import Count

from progress.models import Attempt, Loop, Setup, Station

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("gym")]


def test_ten_weeks_of_floors_end_with_this_week(today: date) -> None:
    this_monday = today - timedelta(days=today.weekday())
    weeks = [setup.week for setup in Setup.objects.filter(published=True)]
    assert weeks == [this_monday - timedelta(weeks=n) for n in range(10)]
    on_floor = Setup.objects.on_floor(today)
    assert on_floor is not None
    assert on_floor.week == this_monday


def test_the_big_hall_has_one_to_three_loops_of_four_to_seven_stations() -> None:
    loops = Loop.objects.annotate(number=Count("stops"))
    per_week = defaultdict(list)
    for loop in loops.filter(area__small=False):
        per_week[loop.setup_id].append(loop.number)
    assert {len(stops) for stops in per_week.values()} == {1, 2, 3}
    assert all(4 <= number <= 7 for stops in per_week.values() for number in stops)
    assert {loop.number for loop in loops.filter(area__small=True)} == {3}


def test_in_several_weeks_loops_share_their_start_and_in_others_they_cross() -> None:
    shared = Station.objects.annotate(number=Count("stops")).filter(number__gt=1)
    starts = shared.filter(stops__position=1).values("setup").distinct().count()
    crossings = shared.filter(stops__position__gt=1).values("setup").distinct().count()
    assert starts >= 3
    assert crossings >= 3


def test_an_attempt_names_a_variant_of_its_own_week_area_and_skill() -> None:
    with_variant = Attempt.objects.filter(variant__isnull=False).select_related(
        "variant__station__setup", "meeting__gym_class"
    )
    assert with_variant.count() > 1000
    for attempt in with_variant.prefetch_related("variant__station__loops__area"):
        day = attempt.meeting.day
        assert attempt.variant.skill_id == attempt.skill_id
        assert attempt.variant.station.setup.week == day - timedelta(days=day.weekday())
        areas = {loop.area.small for loop in attempt.variant.station.loops.all()}
        assert areas == {attempt.meeting.gym_class.small_area}


def test_a_station_keeps_its_variant_codes_from_week_to_week() -> None:
    codes = defaultdict(set)
    for station in Station.objects.prefetch_related("variants"):
        variants = tuple((v.code, v.step, v.skill_id) for v in station.variants.all())
        codes[station.code].add(variants)
    assert len(codes) == 15
    assert all(len(designs) == 1 for designs in codes.values())
