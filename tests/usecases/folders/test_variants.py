"""Which floor a variant code means: the week's own, the undated one, the latest before, any."""

from datetime import date
from pathlib import Path

import pytest

from progress.models import Attempt, Setup, Skill, Variant
from tests.makers import make_setup, make_station, make_variant
from tests.usecases.folders.samples import ATHLETES, SKILLS, load, problems_of, table

pytestmark = pytest.mark.django_db

WEEK = date(2026, 2, 9)
BEFORE, LONG_BEFORE, AFTER = date(2026, 2, 2), date(2026, 1, 26), date(2026, 2, 16)
ON_WEDNESDAY = table("athlete,skill,at,result,variant", "ann,land-1,2026-02-11T17:00:00Z,clean,low")


@pytest.fixture(autouse=True)
def people_and_skills(tmp_path: Path) -> None:
    """The sample's skills and athletes."""
    load(tmp_path / "before", {"skills.csv": SKILLS, "athletes.csv": ATHLETES})


def stand(week: date | None, code: str = "low", published: bool = True) -> Variant:
    """A floor of one variant."""
    setup = make_setup(week, published=published)
    return make_variant(make_station(setup, "jump"), Skill.objects.get(code="land-1"), code)


def meant(folder: Path) -> Variant | None:
    """The variant of an attempt made on the Wednesday of the week."""
    load(folder, {"attempts.csv": ON_WEDNESDAY})
    return Attempt.objects.get().variant


def test_the_floor_of_the_week_is_meant_first(tmp_path: Path) -> None:
    stand(BEFORE), stand(None)
    own = stand(WEEK)
    assert meant(tmp_path) == own


def test_the_undated_floor_is_meant_next(tmp_path: Path) -> None:
    stand(BEFORE), stand(WEEK, "other")
    undated = stand(None)
    assert meant(tmp_path) == undated


def test_the_latest_floor_before_is_meant_next(tmp_path: Path) -> None:
    stand(LONG_BEFORE), stand(AFTER)
    before = stand(BEFORE)
    assert meant(tmp_path) == before


def test_a_later_floor_is_meant_where_there_is_no_other(tmp_path: Path) -> None:
    after = stand(AFTER)
    assert meant(tmp_path) == after


def test_a_draft_is_meant_only_where_nothing_was_published(tmp_path: Path) -> None:
    stand(WEEK, published=False)
    after = stand(AFTER)
    assert meant(tmp_path) == after


def test_a_draft_is_better_than_nothing(tmp_path: Path) -> None:
    draft = stand(None, published=False)
    assert meant(tmp_path) == draft


def test_the_floor_that_comes_with_the_attempts_is_meant(tmp_path: Path) -> None:
    stand(None)
    floor = table("loop,station,variant,step,skill,week", "red,box,low,0,land-1,2026-W07")
    load(tmp_path, {"attempts.csv": ON_WEDNESDAY, "floor.csv": floor})
    variant = Attempt.objects.get().variant
    assert variant is not None
    assert (variant.station.code, variant.station.setup.week) == ("box", WEEK)


def test_a_variant_that_the_new_floor_drops_is_not_known_any_more(tmp_path: Path) -> None:
    stand(WEEK)
    floor = table("loop,station,variant,step,skill,week", "red,box,high,0,land-1,2026-W07")
    (problem,) = problems_of(tmp_path, {"attempts.csv": ON_WEDNESDAY, "floor.csv": floor})
    assert (problem.file, problem.column) == ("attempts.csv", "variant")


def test_of_two_stations_with_the_code_the_one_for_the_skill_is_meant(tmp_path: Path) -> None:
    setup = make_setup(WEEK)
    hang, land = (Skill.objects.get(code=code) for code in ("hang-1", "land-1"))
    make_variant(make_station(setup, "bars"), hang, "low")
    right = make_variant(make_station(setup, "jump"), land, "low")
    assert meant(tmp_path) == right


def test_the_week_is_that_of_the_gyms_own_clock(tmp_path: Path) -> None:
    # In London's summer, 23:30 UTC on Sunday is already Monday.
    stand(date(2025, 6, 23))
    monday = stand(date(2025, 6, 30))
    row = "ann,land-1,2025-06-29T23:30:00Z,clean,low"
    load(tmp_path, {"attempts.csv": table("athlete,skill,at,result,variant", row)})
    assert Attempt.objects.get().variant == monday
    assert Setup.objects.count() == 2
