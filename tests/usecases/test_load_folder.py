"""Loading a folder: what is stored, what a second loading does, and that it is all or nothing."""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from django.db import IntegrityError

from progress.models import (
    Athlete,
    Attempt,
    Enrolment,
    Ladder,
    Loop,
    Setup,
    Skill,
    StaffMember,
    Station,
    Tier,
    Variant,
)
from progress.usecases import load_folder as use_case
from progress.usecases.folders.problems import FolderRefused
from progress.usecases.folders.tally import Tally
from progress.usecases.load_folder import load_folder
from progress.usecases.save_folder import save_folder
from tests.usecases.folders.samples import (
    ATTEMPTS,
    NOW,
    SKILLS,
    VALID,
    load,
    load_valid,
    problems_of,
    records,
    table,
    write,
)

pytestmark = pytest.mark.django_db


def test_a_whole_folder_is_counted_file_by_file(tmp_path: Path) -> None:
    loaded = load_valid(tmp_path)
    assert loaded.files == {
        "skills.csv": Tally(new=3),
        "athletes.csv": Tally(new=2),
        "attempts.csv": Tally(new=3),
        "floor.csv": Tally(new=3),
    }


def test_loading_twice_changes_nothing(tmp_path: Path) -> None:
    load_valid(tmp_path)
    before = records()
    loaded = load_valid(tmp_path)
    assert records() == before
    assert all(not tally.new and not tally.updated for tally in loaded.files.values())


def test_a_skill_is_stored_with_everything_its_row_says(tmp_path: Path) -> None:
    load_valid(tmp_path)
    skill = Skill.objects.get(code="land-1")
    assert (skill.name, skill.ladder.code, skill.tier_id) == ("Land still", "landing", 1)
    assert (skill.required, skill.gate, skill.standard) == (True, True, 0.9)
    assert skill.caution == "Mat rated by its maker."
    assert [look_for.text for look_for in skill.look_fors.all()] == ["Knees bend", "Feet stay"]


def test_needs_are_stored_as_links(tmp_path: Path) -> None:
    load_valid(tmp_path)
    needs = Skill.objects.get(code="hang-2").needs
    assert set(needs.values_list("code", flat=True)) == {"hang-1", "land-1"}


def test_ladders_and_tiers_are_made_where_they_are_missing(tmp_path: Path) -> None:
    load_valid(tmp_path)
    assert [ladder.name for ladder in Ladder.objects.all()] == ["landing", "hanging"]
    assert [tier.name for tier in Tier.objects.all()] == ["Tier 1", "Tier 2"]


def test_an_attempt_is_stored_with_everything_its_row_says(tmp_path: Path) -> None:
    load_valid(tmp_path)
    attempt = Attempt.objects.get(uid="try-1")
    assert (attempt.athlete.code, attempt.skill.code, attempt.result) == ("ann", "land-1", "clean")
    assert attempt.at == datetime(2026, 2, 23, 16, 40, tzinfo=UTC)
    assert attempt.coach == StaffMember.objects.get(code="kim")
    assert attempt.variant == Variant.objects.get(code="low")


def test_the_floor_of_a_week_is_stored_in_order(tmp_path: Path) -> None:
    load_valid(tmp_path)
    loop = Loop.objects.get(code="red")
    assert (loop.setup.week, loop.area.code) == (date(2026, 2, 23), "hall")
    assert [stop.station.code for stop in loop.stops.all()] == ["jump", "bars"]
    high = Variant.objects.get(code="high")
    assert (high.height_m, high.spotter, high.lanes, high.seconds) == (0.4, True, 2, 15.0)


def test_a_child_is_enrolled_since_joining(tmp_path: Path) -> None:
    load_valid(tmp_path)
    place = Enrolment.objects.get(athlete__code="ann")
    assert (place.gym_class.code, place.since, place.until) == ("monday", date(2025, 9, 1), None)


@pytest.mark.parametrize("file", VALID)
def test_each_file_can_come_alone_once_the_others_are_stored(tmp_path: Path, file: str) -> None:
    load_valid(tmp_path / "all")
    loaded = load(tmp_path / "one", {file: VALID[file]})
    assert loaded.files[file].same == VALID[file].count("\n") - 1


def test_what_was_made_because_it_was_named_is_said(tmp_path: Path) -> None:
    remarks = load_valid(tmp_path).remarks
    assert "Made because named: coach 'kim'." in remarks


def test_rows_without_an_id_are_stored_once_however_often_they_are_loaded(tmp_path: Path) -> None:
    load_valid(tmp_path)
    twice = table("athlete,skill,at,result", *["ann,land-1,2026-02-25,clean"] * 2)
    assert load(tmp_path, {"attempts.csv": twice}).files["attempts.csv"] == Tally(new=2)
    assert load(tmp_path, {"attempts.csv": twice}).files["attempts.csv"] == Tally(same=2)


def test_rows_without_an_id_may_come_in_another_order(tmp_path: Path) -> None:
    load_valid(tmp_path)
    rows = [f"ann,land-1,2026-02-{day},clean,was {day}" for day in (25, 26, 25)]
    header = "athlete,skill,at,result,note"
    load(tmp_path, {"attempts.csv": table(header, *rows)})
    loaded = load(tmp_path, {"attempts.csv": table(header, *reversed(rows))})
    assert loaded.files["attempts.csv"] == Tally(same=3)


def test_a_row_without_an_id_never_takes_the_id_of_another_row(tmp_path: Path) -> None:
    load_valid(tmp_path)
    row = "ann,land-1,2026-02-25T12:00:00+00:00,clean,"
    load(tmp_path, {"attempts.csv": table("athlete,skill,at,result,id", row)})
    made = Attempt.objects.exclude(uid__startswith="try").get().uid
    rows = table("athlete,skill,at,result,id", row, row + made)
    assert load(tmp_path, {"attempts.csv": rows}).files["attempts.csv"] == Tally(new=1, same=1)


def test_an_attempt_of_today_without_a_time_may_be_loaded_in_the_morning(tmp_path: Path) -> None:
    load_valid(tmp_path)
    morning = NOW.replace(hour=8)
    attempts = table("athlete,skill,at,result", "ann,land-1,2026-03-02,clean")
    assert load(tmp_path, {"attempts.csv": attempts}, now=morning).files["attempts.csv"].new == 1
    save_folder(folder=tmp_path / "out")
    again = load_folder(folder=tmp_path / "out", now=morning)
    assert again.files["attempts.csv"] == Tally(same=4)


def test_an_attempt_made_this_very_moment_is_not_to_come(tmp_path: Path) -> None:
    attempts = table("athlete,skill,at,result", f"ann,land-1,{NOW.isoformat()},clean")
    assert load(tmp_path, VALID | {"attempts.csv": attempts}).files["attempts.csv"].new == 1


def test_a_corrected_attempt_stays_corrected(tmp_path: Path) -> None:
    load_valid(tmp_path)
    first = Attempt.objects.get(uid="try-2")
    Attempt.objects.create(
        uid="later",
        athlete=first.athlete,
        skill=first.skill,
        at=first.at,
        result="clean",
        supersedes=first,
        reason="Tapped the wrong row.",
    )
    load_valid(tmp_path)
    assert Attempt.objects.standing().get(athlete=first.athlete, skill=first.skill).uid == "later"


def test_a_folder_is_refused_whole_where_one_cell_is_wrong(tmp_path: Path) -> None:
    files = VALID | {"attempts.csv": ATTEMPTS.replace("assisted", "helped")}
    (problem,) = problems_of(tmp_path, files)
    assert str(problem) == (
        "attempts.csv, line 4, column result: 'helped' is not a result."
        " Write miss, assisted or clean."
    )


def test_problems_of_all_files_come_together_in_the_order_of_the_files(tmp_path: Path) -> None:
    files = {
        "floor.csv": VALID["floor.csv"].replace("0.4", "40"),
        "attempts.csv": ATTEMPTS.replace("ben,hang-2", "bob,hang-2"),
        "athletes.csv": VALID["athletes.csv"].replace("2018-02-01", "soon"),
        "skills.csv": SKILLS.replace("0.9", "90"),
    }
    problems = problems_of(tmp_path, files)
    assert [(problem.file, problem.line, problem.column) for problem in problems] == [
        ("skills.csv", 2, "standard"),
        ("athletes.csv", 2, "birth_date"),
        ("attempts.csv", 4, "athlete"),
        ("floor.csv", 3, "height_m"),
    ]


def test_a_row_with_a_mistake_still_lends_its_code_to_other_files(tmp_path: Path) -> None:
    files = VALID | {"athletes.csv": VALID["athletes.csv"].replace("ben,2", "ben,two")}
    assert [problem.file for problem in problems_of(tmp_path, files)] == ["athletes.csv"]


def test_an_unreadable_file_does_not_make_every_mention_of_it_a_problem(tmp_path: Path) -> None:
    files = VALID | {"skills.csv": ""}
    assert [problem.file for problem in problems_of(tmp_path, files)] == ["skills.csv"]


def test_nothing_stays_where_the_database_itself_refuses(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*args: object) -> None:
        raise IntegrityError("somebody was quicker\nDETAIL: key")

    monkeypatch.setattr(use_case, "store_attempts", refuse)
    (problem,) = problems_of(tmp_path, VALID)
    assert problem.what == "could not be stored (somebody was quicker)."


def test_an_attempt_stored_meanwhile_by_somebody_else_undoes_the_loading(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    load_valid(tmp_path)
    more = ATTEMPTS.replace("try-3", "try-4")
    # As if the check had been made before the others were stored.
    monkeypatch.setattr(use_case, "split_stored", lambda attempts, problems: (attempts, []))
    (problem,) = problems_of(tmp_path, {"attempts.csv": more})
    assert "could not be stored" in problem.what


@pytest.mark.parametrize("lines", [50_000])
def test_one_mistake_on_many_lines_stays_small(tmp_path: Path, lines: int) -> None:
    rows = ["ann,land-1,2026-02-25,cleen"] * lines
    folder = write(tmp_path, VALID | {"attempts.csv": table("athlete,skill,at,result", *rows)})
    with pytest.raises(FolderRefused) as refused:
        load_folder(folder=folder, now=NOW)
    assert refused.value.total == lines
    assert len(refused.value.problems) <= 200


def test_a_file_over_the_limit_is_not_read(tmp_path: Path) -> None:
    folder = write(tmp_path, VALID)
    with pytest.raises(FolderRefused) as refused:
        load_folder(folder=folder, now=NOW, size_limit=len(SKILLS))
    assert all("MB" in problem.what for problem in refused.value.problems)


def test_stations_are_made_once_for_loops_that_share_them(tmp_path: Path) -> None:
    blue = "blue,bars,still,0,hang-1,2026-02-23,hall,1,,,no,1,20,\n"
    load(tmp_path, VALID | {"floor.csv": VALID["floor.csv"] + blue})
    assert Station.objects.get(code="bars").loops.count() == 2
    assert Setup.objects.count() == 1


def test_athletes_may_join_in_the_time_to_come(tmp_path: Path) -> None:
    later = (NOW + timedelta(days=30)).date()
    load(tmp_path, {"athletes.csv": table("athlete,tier,class,joined", f"cat,1,monday,{later}")})
    assert Enrolment.objects.get(athlete=Athlete.objects.get(code="cat")).since == later
