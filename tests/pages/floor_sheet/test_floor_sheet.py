"""What stands on the sheet for the wall."""

import re
from datetime import date

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from progress.engine.safety import CLOSING
from progress.models import Mat, Setup, Skill, Station, StationKind
from progress.usecases.see_floor_sheet import see_floor_sheet
from tests import makers

pytestmark = pytest.mark.django_db


def text(response: HttpResponse) -> str:
    words = re.sub(r"<[^>]*>", " ", response.content.decode())
    return " ".join(words.replace("&#x27;", "'").split())


def sheet(client: Client, setup: Setup) -> str:
    return text(client.get(reverse("floor_sheet", args=[setup.pk])))


@pytest.fixture
def split(small_catalogue: dict[str, Skill]) -> Setup:
    """Two loops with one start: a platform of 0.8 m without a mat, and bars."""
    setup = makers.make_setup(date(2026, 3, 9), name="Split")
    kind, none = StationKind.DROP, Mat.NONE
    start = makers.make_station(setup, "start", name="Start", kind=kind, mat=none)
    makers.make_variant(
        start,
        small_catalogue["LAND-1"],
        step=-1,
        name="Low",
        height_m=0.2,
        caution="Dry floor.",
    )
    makers.make_variant(
        start, small_catalogue["LAND-2"], name="Hip high", height_m=0.8, lanes=3, spotter=True
    )
    bars = makers.make_station(setup, "bars", name="Bars", variants=[small_catalogue["HANG-1"]])
    makers.make_loop(setup, "A", name="Left", stations=(start, bars))
    makers.make_loop(setup, "B", name="Right", stations=(start,))
    return setup


def test_stations_come_in_order_with_variants_by_step(coach_client: Client, split: Setup) -> None:
    page = sheet(coach_client, split)

    assert "Split week of 9 March 2026" in page
    assert "A Left Main Start easier Low, feet 0.2 m Dry floor." in page
    assert "base Hip high, feet 0.8 m, 3 lanes, adult stands here" in page
    assert "B Right Main Start described at A1" in page
    assert page.count("Dry floor.") == 1


def test_what_to_stop_at_comes_first_and_nothing_is_an_all_clear(
    coach_client: Client, split: Setup
) -> None:
    page = sheet(coach_client, split)

    cautions = page.split("Look at before a class")[1]
    assert cautions.strip().startswith("Stop Start:")
    assert CLOSING in page
    assert "safe" not in page.lower().replace("safety", "")


def test_the_floor_check_is_filled_in_by_pen_and_has_six_ticks(
    coach_client: Client, split: Setup
) -> None:
    response = coach_client.get(reverse("floor_sheet", args=[split.pk]))

    page = response.content.decode()
    assert "Date checked by at" in text(response)
    assert page.count('class="wall-box"') == 6
    assert "common practice and has no source" in page


def test_an_empty_floor_has_a_sheet_that_says_so(coach_client: Client) -> None:
    page = sheet(coach_client, makers.make_setup(None, published=False))

    assert "No stations stand on this floor yet." in page
    assert "draft" in page


def test_the_library_has_no_sheet(coach_client: Client) -> None:
    library = Setup.objects.library()

    assert coach_client.get(reverse("floor_sheet", args=[library.pk])).status_code == 404


class TestTheYoungestOfTheWeek:
    """Cautions that depend on age take the youngest child of each kind of area."""

    @pytest.fixture
    def bar(self, small_catalogue: dict[str, Skill]) -> Station:
        """A high bar in the hall."""
        setup = makers.make_setup(None)
        bar = makers.make_station(setup, "bar", name="Bar", kind=StationKind.OVERHEAD)
        makers.make_variant(bar, small_catalogue["HANG-1"], height_m=0.3, hand_height_m=1.6)
        makers.make_loop(setup, "A", stations=(bar,))
        return bar

    @pytest.mark.parametrize(("small", "stops"), [(False, True), (True, False)])
    def test_a_child_of_three_matters_where_it_trains(
        self, bar: Station, small: bool, stops: bool
    ) -> None:
        child = makers.make_athlete(birth_date=date(2022, 12, 1))
        makers.make_class(athletes=(child,), small_area=small)

        seen = see_floor_sheet(setup=bar.setup, today=makers.TODAY)

        assert seen.youngest[small] == pytest.approx(3.2, abs=0.1)
        severities = {str(one.severity) for one in seen.cautions}
        assert ("stop" in severities) is stops  # playgrounds leave overhead bars out under 4


def test_a_fuller_floor_costs_no_more_queries(
    split: Setup, small_catalogue: dict[str, Skill]
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as made:
            see_floor_sheet(setup=split, today=makers.TODAY)
        return len(made)

    before = queries()
    for number in range(5):
        station = makers.make_station(
            split, f"s-{number}", variants=[small_catalogue["LAND-1"], small_catalogue["HANG-1"]]
        )
        makers.make_loop(split, f"L-{number}", stations=(station,))
        makers.make_class(athletes=(makers.make_athlete(),))

    assert queries() == before <= 7


def test_a_floor_too_full_for_one_sheet_is_said_to_be(
    coach_client: Client, small_catalogue: dict[str, Skill]
) -> None:
    setup = makers.make_setup(None)
    stations = [makers.make_station(setup, f"s-{number}") for number in range(60)]
    for station in stations:
        for step in range(5):
            name = f"A way to do it that takes quite some words, number {step}"
            makers.make_variant(station, small_catalogue["LAND-1"], step=step, name=name)
    makers.make_loop(setup, "A", stations=stations)

    assert "it may take two sheets" in sheet(coach_client, setup)


def test_a_usual_floor_is_not(coach_client: Client, split: Setup) -> None:
    assert "it may take two sheets" not in sheet(coach_client, split)
