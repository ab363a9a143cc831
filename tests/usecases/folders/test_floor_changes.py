"""A floor may be changed by a file until attempts were made on it."""

from datetime import date
from pathlib import Path

import pytest

from progress.models import Area, Loop, LoopStop, Setup, Station, Variant
from progress.usecases.folders.tally import Tally
from tests.makers import make_area, make_setup
from tests.usecases.folders.samples import FLOOR, SKILLS, VALID, load, load_valid, problems_of

pytestmark = pytest.mark.django_db

WITHOUT_TRIES = {"skills.csv": SKILLS, "floor.csv": FLOOR}
HIGHER = FLOOR.replace("0.4", "0.5")


def test_a_changed_floor_takes_the_place_of_the_stored_one(tmp_path: Path) -> None:
    load(tmp_path, WITHOUT_TRIES)
    loaded = load(tmp_path, {"floor.csv": HIGHER})
    assert loaded.files["floor.csv"] == Tally(updated=3)
    assert Variant.objects.get(code="high").height_m == 0.5
    assert Station.objects.count() == 2


def test_a_changed_floor_that_attempts_were_made_on_is_refused(tmp_path: Path) -> None:
    load_valid(tmp_path)
    (problem,) = problems_of(tmp_path, {"floor.csv": HIGHER})
    assert (problem.file, problem.line, problem.column) == ("floor.csv", 2, "week")
    assert "'jump'" in problem.what
    assert "1 attempt" in problem.what


def test_the_same_floor_may_be_loaded_after_attempts_were_made_on_it(tmp_path: Path) -> None:
    load_valid(tmp_path)
    assert load(tmp_path, {"floor.csv": FLOOR}).files["floor.csv"] == Tally(same=3)


def test_another_week_may_be_changed_all_the_same(tmp_path: Path) -> None:
    load_valid(tmp_path)
    later = HIGHER.replace("2026-02-23", "2026-03-02")
    assert load(tmp_path, {"floor.csv": later}).files["floor.csv"] == Tally(new=3)


def test_a_floor_with_a_mistake_is_not_also_called_different(tmp_path: Path) -> None:
    load_valid(tmp_path)
    (problem,) = problems_of(tmp_path, {"floor.csv": FLOOR.replace("0.4", "high")})
    assert problem.column == "height_m"


def test_a_changed_floor_keeps_what_the_file_cannot_say(tmp_path: Path) -> None:
    load(tmp_path, WITHOUT_TRIES)
    Variant.objects.filter(code="low").update(minimum_age=6.0, places=4, name="Low box")
    Station.objects.filter(code="jump").update(name="Jump down")
    Loop.objects.update(name="Red loop")
    load(tmp_path, {"floor.csv": HIGHER})
    low = Variant.objects.get(code="low")
    assert (low.minimum_age, low.places, low.name) == (6.0, 4, "Low box")
    assert (low.station.name, Loop.objects.get().name) == ("Jump down", "Red loop")


def test_a_loop_without_an_area_in_the_file_stays_where_it_is(tmp_path: Path) -> None:
    load(tmp_path, WITHOUT_TRIES)
    load(tmp_path, {"floor.csv": HIGHER.replace("hall", "")})
    assert Loop.objects.get().area == Area.objects.get(code="hall")


def test_a_stored_draft_of_the_week_gives_way_to_another_floor(tmp_path: Path) -> None:
    make_setup(date(2026, 2, 23), published=False)
    load(tmp_path, WITHOUT_TRIES)
    assert Setup.objects.get().published
    assert LoopStop.objects.count() == 2


def test_a_draft_without_a_week_is_left_alone(tmp_path: Path) -> None:
    draft = make_setup(None, published=False)
    load(tmp_path, VALID | {"floor.csv": FLOOR.replace("2026-02-23", "")})
    assert Setup.objects.count() == 2
    assert not draft.stations.exists()


def test_the_order_of_the_loops_is_part_of_the_floor(tmp_path: Path) -> None:
    blue = "blue,bars,still,0,hang-1,2026-02-23,hall,1,,,no,1,20,"
    header, *red = FLOOR.splitlines()
    load(tmp_path, WITHOUT_TRIES | {"floor.csv": "\n".join([header, *red, blue])})
    load(tmp_path, {"floor.csv": "\n".join([header, blue, *red])})
    assert list(Loop.objects.order_by("order").values_list("code", flat=True)) == ["blue", "red"]


def test_areas_that_are_there_are_used(tmp_path: Path) -> None:
    hall = make_area("hall", small=True)
    load(tmp_path, WITHOUT_TRIES)
    assert Loop.objects.get().area == hall
