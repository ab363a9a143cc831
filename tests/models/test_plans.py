"""What a coach fixed by hand: one standing choice for a child, its loop or a station, each day."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from progress.models import Athlete, GymClass, Loop, PlanChoice, Skill
from tests import makers
from tests.models.conftest import Refusal


@pytest.fixture
def loop(small_catalogue: dict[str, Skill]) -> Loop:
    """A loop of one station with one variant."""
    setup = makers.make_setup()
    station = makers.make_station(setup, "beam", variants=[small_catalogue["LAND-1"]], name="Beam")
    return makers.make_loop(setup, "round", stations=[station], name="Round")


@pytest.fixture
def who(ada: Athlete, monday_class: GymClass) -> dict[str, Any]:
    return {"gym_class": monday_class, "day": makers.TODAY, "athlete": ada}


class TestOneChoice:
    def test_is_of_a_loop_or_at_a_station(
        self, who: dict[str, Any], loop: Loop, refused: Refusal
    ) -> None:
        station = loop.stations.get()
        for wrong in (
            {},
            {"loop": loop, "station": station},
            {"loop": loop, "variant": station.variants.get()},
            {"variant": station.variants.get()},
        ):
            with refused(PlanChoice, "choice_is_of_a_loop_or_at_a_station"):
                PlanChoice.objects.bulk_create([PlanChoice(**who, **wrong)])

    def test_a_station_without_a_variant_leaves_it_out(
        self, who: dict[str, Any], loop: Loop
    ) -> None:
        choice = PlanChoice.objects.create(**who, station=loop.stations.get())
        assert str(choice).endswith("Beam: left out")
        assert str(PlanChoice(**who, loop=loop)).endswith(": Round")

    def test_names_a_variant_of_its_own_station(
        self, who: dict[str, Any], loop: Loop, small_catalogue: dict[str, Skill]
    ) -> None:
        other = makers.make_station(loop.setup, "bar", variants=[small_catalogue["HANG-1"]])
        choice = PlanChoice(**who, station=loop.stations.get(), variant=other.variants.get())
        with pytest.raises(ValidationError, match="another station"):
            choice.full_clean()


class TestStandingChoices:
    def test_there_is_one_loop_a_day(
        self, who: dict[str, Any], loop: Loop, refused: Refusal
    ) -> None:
        PlanChoice.objects.create(**who, loop=loop)
        with refused(PlanChoice, "one_loop_chosen_a_day"):
            PlanChoice.objects.bulk_create([PlanChoice(**who, loop=loop)])
        tomorrow = {**who, "day": makers.TODAY + timedelta(days=1)}
        PlanChoice.objects.create(**tomorrow, loop=loop)

    def test_there_is_one_variant_a_station_and_day(
        self, who: dict[str, Any], loop: Loop, refused: Refusal
    ) -> None:
        station = loop.stations.get()
        first = PlanChoice.objects.create(**who, station=station, variant=station.variants.get())
        with refused(PlanChoice, "one_variant_chosen_a_day"):
            PlanChoice.objects.bulk_create([PlanChoice(**who, station=station)])
        PlanChoice.objects.filter(pk=first.pk).update(taken_back_at=timezone.now())
        PlanChoice.objects.create(**who, station=station)

    def test_those_taken_back_are_kept_and_not_read(self, who: dict[str, Any], loop: Loop) -> None:
        PlanChoice.objects.create(**who, loop=loop, taken_back_at=timezone.now())
        standing = PlanChoice.objects.create(**who, loop=loop)
        assert list(PlanChoice.objects.of(who["gym_class"], makers.TODAY)) == [standing]
        assert PlanChoice.objects.count() == 2
        assert list(PlanChoice.objects.of(makers.make_class(), makers.TODAY)) == []
