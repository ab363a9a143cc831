"""Rows of floor.csv that contradict each other are named; what they agree on becomes a plan."""

from pathlib import Path

import pytest

from progress.models import Area, Loop, Setup, Station, Variant
from tests.usecases.folders.samples import SKILLS, load, problems_of, table

pytestmark = pytest.mark.django_db

HEADER = "loop,station,variant,step,skill,week,area,position,height_m,lanes,seconds,change,spotter"
RED = "red,jump,low,0,land-1"
BLUE = "blue,jump,low,0,land-1"


def load_floor(folder: Path, *rows: str) -> None:
    """Load these rows with the sample's skills."""
    load(folder, {"skills.csv": SKILLS, "floor.csv": table(HEADER, *rows)})


@pytest.mark.parametrize(
    ("rows", "line", "column"),
    [
        ((",jump,low,0,land-1",), 2, "loop"),
        (("red,,low,0,land-1",), 2, "station"),
        (("red,jump,,0,land-1",), 2, "variant"),
        (("red,jump,low,,land-1",), 2, "step"),
        (("red,jump,low,0.5,land-1",), 2, "step"),
        (("red,jump,low,easy,land-1",), 2, "step"),
        (("red,jump,low,0,flying",), 2, "skill"),
        ((f"{RED},2026-02-30",), 2, "week"),
        ((f"{RED},2026-W60",), 2, "week"),
        ((f"{RED},02/03/2026",), 2, "week"),
        ((f"{RED},,,0",), 2, "position"),
        ((f"{RED},,,,-0.1",), 2, "height_m"),
        ((f"{RED},,,,40",), 2, "height_m"),
        ((f"{RED},,,,,0",), 2, "lanes"),
        ((f"{RED},,,,,1.5",), 2, "lanes"),
        ((f"{RED},,,,,,0",), 2, "seconds"),
        ((f"{RED},,,,,,,colour",), 2, "change"),
        ((f"{RED},,,,,,,,perhaps",), 2, "spotter"),
        ((RED, RED), 3, "variant"),
        ((RED, "red,jump,high,0,land-1"), 3, "step"),
        ((RED, "blue,jump,low,1,land-1"), 3, "step"),
        ((RED, "blue,jump,low,0,hang-1"), 3, "skill"),
        ((f"{RED},,,,0.2", f"{BLUE},,,,0.3"), 3, "height_m"),
        ((f"{RED},,,,,,,,no", f"{BLUE},,,,,,,,yes"), 3, "spotter"),
        ((RED, "blue,jump,high,1,land-1"), 3, "variant"),
        ((f"{RED},,north", "red,bars,still,0,hang-1,,south"), 3, "area"),
        ((f"{RED},,,1", "red,bars,still,0,hang-1,,,1"), 3, "position"),
        ((f"{RED},,,1", "red,jump,high,1,land-1,,,2"), 3, "position"),
        ((f"{RED},,,1", "red,bars,still,0,hang-1"), 3, "position"),
    ],
)
def test_a_row_that_does_not_fit_is_named(
    tmp_path: Path, rows: tuple[str, ...], line: int, column: str
) -> None:
    files = {"skills.csv": SKILLS, "floor.csv": table(HEADER, *rows)}
    (problem,) = problems_of(tmp_path, files)
    assert (problem.file, problem.line, problem.column) == ("floor.csv", line, column)


def test_a_mistake_in_one_row_does_not_make_its_shared_station_a_problem(tmp_path: Path) -> None:
    rows = (RED, "red,jump,high,1,land-1,,,,tall", BLUE, "blue,jump,high,1,land-1")
    files = {"skills.csv": SKILLS, "floor.csv": table(HEADER, *rows)}
    assert [problem.line for problem in problems_of(tmp_path, files)] == [3]


def test_loops_that_name_one_station_share_it(tmp_path: Path) -> None:
    load_floor(tmp_path, RED, BLUE)
    assert Station.objects.get().loops.count() == 2


def test_a_shared_station_may_be_listed_in_full_only_once(tmp_path: Path) -> None:
    load_floor(tmp_path, f"{RED},,,,0.3", "red,jump,high,1,land-1", BLUE)
    assert set(Variant.objects.values_list("code", "height_m")) == {("low", 0.3), ("high", None)}


def test_one_station_code_in_two_weeks_is_two_stations(tmp_path: Path) -> None:
    load_floor(tmp_path, f"{RED},2026-W07", "red,jump,high,0,land-1,2026-W08")
    assert Station.objects.count() == 2


def test_any_day_of_a_week_means_its_monday(tmp_path: Path) -> None:
    load_floor(tmp_path, f"{RED},2026-02-15", f"{BLUE},2026-W07")
    assert str(Setup.objects.get().week) == "2026-02-09"


def test_rows_without_a_week_make_the_standing_floor(tmp_path: Path) -> None:
    load_floor(tmp_path, RED)
    assert Setup.objects.get().week is None


def test_stations_stand_in_the_order_of_their_first_row(tmp_path: Path) -> None:
    load_floor(tmp_path, "red,bars,still,0,hang-1", RED, "red,bars,swing,1,hang-2")
    stops = Loop.objects.get().stops.values_list("position", "station__code")
    assert list(stops) == [(1, "bars"), (2, "jump")]


def test_written_positions_come_before_the_order_of_the_rows(tmp_path: Path) -> None:
    load_floor(tmp_path, "red,bars,still,0,hang-1,,,20", f"{RED},,,10")
    stops = Loop.objects.get().stops.values_list("position", "station__code")
    assert list(stops) == [(10, "jump"), (20, "bars")]


def test_without_an_area_there_is_one_big_one(tmp_path: Path) -> None:
    load_floor(tmp_path, RED, BLUE)
    area = Area.objects.get()
    assert (area.code, area.name, area.small) == ("main", "Main area", False)


def test_an_area_is_written_once_for_its_loop(tmp_path: Path) -> None:
    load_floor(tmp_path, f"{RED},,north", "red,bars,still,0,hang-1")
    assert Loop.objects.get().area.code == "north"


def test_a_variant_has_one_lane_and_no_spotter_unless_the_file_says_so(tmp_path: Path) -> None:
    load_floor(tmp_path, RED)
    variant = Variant.objects.get()
    assert (variant.lanes, variant.spotter, variant.height_m) == (1, False, None)
