"""Athletes are brought up to date and stand in the classes the file names."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from progress.models import Athlete, Enrolment
from progress.usecases.folders.tally import Tally
from tests.makers import enrol, make_athlete, make_class
from tests.usecases.folders.samples import NOW, SKILLS, load, problems_of, table

pytestmark = pytest.mark.django_db

HEADER = "athlete,tier,name,birth_date,class,joined"
TODAY = NOW.date()
YESTERDAY = TODAY - timedelta(days=1)


def load_athletes(folder: Path, *rows: str) -> Tally:
    """Load these rows; the tally of the file."""
    return load(folder, {"athletes.csv": table(HEADER, *rows)}).files["athletes.csv"]


def places(code: str = "ann") -> list[tuple[str, date, date | None]]:
    """(class, since, until) of an athlete, oldest first."""
    enrolments = Enrolment.objects.filter(athlete__code=code).order_by("since", "pk")
    return list(enrolments.values_list("gym_class__code", "since", "until"))


def test_an_empty_cell_leaves_what_is_stored(tmp_path: Path) -> None:
    make_athlete("ann", name="Ann", birth_date=date(2018, 2, 1))
    load_athletes(tmp_path, "ann,2,,,,")
    ann = Athlete.objects.get()
    assert (ann.tier_id, ann.name, ann.birth_date) == (2, "Ann", date(2018, 2, 1))


def test_athletes_are_counted_by_what_became_of_them(tmp_path: Path) -> None:
    load_athletes(tmp_path, "ann,1,Ann", "ben,1,Ben")
    assert load_athletes(tmp_path, "ann,2,Ann", "ben,1,Ben", "cat,1,Cat") == Tally(1, 1, 1)


def test_athletes_the_file_does_not_name_stay(tmp_path: Path) -> None:
    load_athletes(tmp_path, "ann,1,Ann")
    load_athletes(tmp_path, "ben,1,Ben")
    assert Athlete.objects.count() == 2


def test_without_a_day_of_joining_a_place_counts_from_the_first_attempt(tmp_path: Path) -> None:
    rows = ("ann,land-1,2026-02-20,clean", "ann,land-1,2026-02-13,miss")
    attempts = table("athlete,skill,at,result", *rows)
    athletes = table(HEADER, "ann,1,,,monday,")
    load(tmp_path, {"skills.csv": SKILLS, "athletes.csv": athletes, "attempts.csv": attempts})
    assert places() == [("monday", date(2026, 2, 13), None)]


def test_without_anything_known_a_place_counts_from_today(tmp_path: Path) -> None:
    load_athletes(tmp_path, "ann,1,,,monday,")
    assert places() == [("monday", TODAY, None)]


def test_a_child_who_changes_class_leaves_the_old_one(tmp_path: Path) -> None:
    enrol(make_athlete("ann"), make_class("monday"), since=date(2025, 9, 1))
    assert load_athletes(tmp_path, "ann,1,,,tuesday,") == Tally(updated=1)
    assert places() == [("monday", date(2025, 9, 1), YESTERDAY), ("tuesday", TODAY, None)]


def test_a_place_that_began_only_today_is_taken_away(tmp_path: Path) -> None:
    enrol(make_athlete("ann"), make_class("monday"), since=TODAY)
    load_athletes(tmp_path, "ann,1,,,tuesday,")
    assert places() == [("tuesday", TODAY, None)]


def test_a_child_may_be_in_several_classes(tmp_path: Path) -> None:
    load_athletes(tmp_path, "ann,1,,,monday | friday at 5,2025-09-01")
    assert {name for name, _, _ in places()} == {"monday", "friday at 5"}


def test_an_empty_class_leaves_the_classes(tmp_path: Path) -> None:
    enrol(make_athlete("ann"), make_class("monday"), since=date(2025, 9, 1))
    load_athletes(tmp_path, "ann,1,,,,")
    assert places() == [("monday", date(2025, 9, 1), None)]


def test_a_child_who_comes_back_keeps_the_time_away(tmp_path: Path) -> None:
    first = (date(2024, 9, 1), date(2025, 7, 1))
    enrol(make_athlete("ann"), make_class("monday"), since=first[0], until=first[1])
    load_athletes(tmp_path, "ann,1,,,monday,2024-09-01")
    assert places() == [("monday", *first), ("monday", TODAY, None)]


def test_a_place_that_will_end_is_a_place_still(tmp_path: Path) -> None:
    last = TODAY + timedelta(days=20)
    enrol(make_athlete("ann"), make_class("monday"), since=date(2025, 9, 1), until=last)
    load_athletes(tmp_path, "ann,1,,,monday,")
    assert places() == [("monday", date(2025, 9, 1), last)]


def test_joining_after_the_stored_day_of_leaving_is_refused(tmp_path: Path) -> None:
    make_athlete("ann", left=date(2025, 12, 1))
    files = {"athletes.csv": table(HEADER, "ann,1,,,,2026-01-01")}
    (problem,) = problems_of(tmp_path, files)
    assert (problem.line, problem.column) == (2, "joined")


def test_joining_before_the_stored_birth_date_is_refused(tmp_path: Path) -> None:
    make_athlete("ann", birth_date=date(2018, 2, 1))
    files = {"athletes.csv": table(HEADER, "ann,1,,,,2017-01-01")}
    (problem,) = problems_of(tmp_path, files)
    assert (problem.line, problem.column) == (2, "joined")
