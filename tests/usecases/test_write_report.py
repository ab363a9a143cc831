"""The whole gym's answers for a day as four files: what is in them, in which order, and why not."""

import csv
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest
from django.db import connection

from progress.engine.terms import Decision, SkillState
from progress.models import (
    Athlete,
    Attempt,
    Calibration,
    GymClass,
    Setup,
    Skill,
    StaffMember,
    Variant,
)
from progress.usecases import write_report as module
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.write_report import write_report
from tests import makers

pytestmark = pytest.mark.django_db

DAY, WEEK = timedelta(days=1), timedelta(weeks=1)

# As people who load these files elsewhere were promised them.
COLUMNS = {
    "estimates.csv": "athlete,skill,p_clean,low,high,attempts,days,last_at,state",
    "readiness.csv": "athlete,tier,next_tier,decision,p_ready,holding_back,why",
    "suggestions.csv": "athlete,loop,station,variant,p_clean,why",
    "next_checks.csv": "athlete,skill,rank,why",
}


@pytest.fixture
def gym(monday_class: GymClass, cy: Athlete, floor: Setup) -> GymClass:
    """Ada and Bo in a class, Cy in none, and this week's floor."""
    return monday_class


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A folder that is not there yet."""
    return tmp_path / "deep" / "report"


def report(folder: Path, as_of: date = makers.TODAY) -> dict[str, bytes]:
    """Write the report and read the files."""
    write_report(folder=folder, as_of=as_of)
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def rows(folder: Path, name: str, as_of: date = makers.TODAY) -> list[dict[str, str]]:
    """One file of a fresh report, row by row."""
    return list(csv.DictReader(report(folder, as_of)[name].decode().splitlines()))


def store_anew_in_another_order(seed: int) -> None:
    """Take every attempt away and store the same ones again, shuffled."""
    stored: list[dict[str, Any]] = [dict(row) for row in Attempt.objects.order_by("pk").values()]
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM progress_attempt")
    Random(seed).shuffle(stored)
    new_key = {values["id"]: 1_000_000 + number for number, values in enumerate(stored)}
    for values in stored:
        values["id"] = new_key[values["id"]]
        values["supersedes_id"] = new_key.get(values["supersedes_id"])
    Attempt.objects.bulk_create(Attempt(**values) for values in stored)


class TestTheFiles:
    def test_there_are_four_with_the_columns_people_were_promised(
        self, gym: GymClass, out: Path
    ) -> None:
        files = report(out)

        assert {name: text.decode().split("\n")[0] for name, text in files.items()} == COLUMNS

    def test_a_gym_without_anything_gives_headers_alone(self, out: Path) -> None:
        files = report(out)

        assert {name: text.decode() for name, text in files.items()} == {
            name: f"{columns}\n" for name, columns in COLUMNS.items()
        }

    def test_a_catalogue_without_athletes_does_too(self, floor: Setup, out: Path) -> None:
        assert all(text.count(b"\n") == 1 for text in report(out).values())

    def test_the_rows_written_are_counted(self, gym: GymClass, out: Path) -> None:
        written = write_report(folder=out, as_of=makers.TODAY)

        lines = {path.name: path.read_bytes().count(b"\n") - 1 for path in out.iterdir()}
        assert written.rows == lines
        assert lines["estimates.csv"] == 15
        assert lines["readiness.csv"] == 3
        assert lines["suggestions.csv"] == 6

    def test_files_of_these_names_are_replaced_and_others_left_alone(
        self, gym: GymClass, tmp_path: Path
    ) -> None:
        for name in ("readiness.csv", "notes.txt"):
            (tmp_path / name).write_text("mine")

        assert report(tmp_path)["readiness.csv"].startswith(b"athlete,tier")
        assert (tmp_path / "notes.txt").read_text() == "mine"

    def test_athletes_are_codes_and_never_names(self, gym: GymClass, out: Path) -> None:
        Athlete.objects.filter(code="ada").update(name="Adalaide Nobody")

        assert not any(b"Adalaide" in text for text in report(out).values())


class TestTheOrderOfRows:
    def test_estimates_go_by_athlete_and_then_by_the_catalogue(
        self, gym: GymClass, out: Path
    ) -> None:
        codes = ["LAND-1", "LAND-2", "HANG-1", "HANG-2", "HANG-3"]
        found = [(row["athlete"], row["skill"]) for row in rows(out, "estimates.csv")]

        assert found == [(who, code) for who in ("ada", "bo", "cy") for code in codes]

    def test_suggestions_go_by_athlete_and_then_as_the_loop_is_walked(
        self, gym: GymClass, floor: Setup, out: Path, small_catalogue: dict[str, Skill]
    ) -> None:
        bars, jump = (floor.stations.get(code=code) for code in ("bars", "jump"))
        makers.make_loop(floor, "back", stations=[bars, jump])
        found = [
            (row["athlete"], row["loop"], row["station"]) for row in rows(out, "suggestions.csv")
        ]

        walked = [("back", "bars"), ("back", "jump"), ("first", "jump"), ("first", "bars")]
        assert found == [(who, *stop) for who in ("ada", "bo", "cy") for stop in walked]

    def test_checks_go_class_by_class_with_those_in_no_class_last(
        self, gym: GymClass, out: Path
    ) -> None:
        first = makers.make_class("early", athletes=[makers.make_athlete("zoe")])
        assert first.code < gym.code
        found = rows(out, "next_checks.csv")

        whose = list(dict.fromkeys(row["athlete"] for row in found))
        assert whose == ["zoe", "bo", "cy"]
        for group in (["zoe"], ["bo"], ["cy"]):
            ranks = [int(row["rank"]) for row in found if row["athlete"] in group]
            assert ranks == list(range(1, len(ranks) + 1))

    def test_names_do_not_change_it(self, gym: GymClass, out: Path) -> None:
        Athlete.objects.filter(code="ada").update(name="Zz")

        assert [row["athlete"] for row in rows(out, "readiness.csv")] == ["ada", "bo", "cy"]


class TestTheSameEveryTime:
    def test_two_runs_are_the_same_to_the_byte(self, gym: GymClass, tmp_path: Path) -> None:
        assert report(tmp_path / "one") == report(tmp_path / "two")
        assert Calibration.objects.count() == 1

    @pytest.mark.parametrize("seed", [1, 2])
    def test_the_order_in_which_attempts_were_stored_does_not_matter(
        self, gym: GymClass, ada: Athlete, coach: StaffMember, tmp_path: Path, seed: int
    ) -> None:
        variant = Variant.objects.get(code="jump+0")
        for result in ("clean", "miss", "assisted"):
            at = makers.TODAY - 2 * WEEK
            tried = makers.make_attempt(
                ada, variant.skill, result, at=at, coach=coach, variant=variant
            )
        makers.make_correction(makers.make_correction(tried, "miss"), "clean")
        before = report(tmp_path / "before")
        first = Attempt.objects.earliest("pk")

        store_anew_in_another_order(seed)

        assert Attempt.objects.earliest("pk").uid != first.uid
        assert calibrate_gym(today=makers.TODAY) == Calibration.objects.get()
        Calibration.objects.all().delete()
        assert report(tmp_path / "after") == before

    def test_what_comes_after_the_day_changes_nothing(
        self, gym: GymClass, bo: Athlete, small_catalogue: dict[str, Skill], tmp_path: Path
    ) -> None:
        """Neither the same evening after midnight nor weeks later, with new people and places."""
        as_of = makers.TODAY
        before = report(tmp_path / "before", as_of)
        skill, newcomer = small_catalogue["HANG-1"], makers.make_staff("abe")
        variant = Variant.objects.get(code="bars+0")
        at = makers.moment(as_of + DAY, 0, 0)
        makers.make_attempt(bo, skill, at=at, coach=newcomer, variant=variant)
        for later in (2, 9, 40):
            makers.make_attempt(bo, skill, at=as_of + later * DAY, coach=newcomer)
        makers.make_hold(bo, starts=as_of + DAY)
        makers.make_meeting(gym, as_of + WEEK, present=[bo])

        assert report(tmp_path / "after", as_of) == before
        assert report(tmp_path / "later", as_of + DAY) != before

    def test_the_last_minute_of_the_day_counts(
        self, gym: GymClass, cy: Athlete, small_catalogue: dict[str, Skill], tmp_path: Path
    ) -> None:
        at = makers.moment(makers.TODAY, 23, 59)
        makers.make_attempt(cy, small_catalogue["LAND-1"], "miss", at=at)

        found = {
            (row["athlete"], row["skill"]): row for row in rows(tmp_path / "on", "estimates.csv")
        }
        tried = found["cy", "LAND-1"]
        assert (tried["attempts"], tried["days"], tried["last_at"]) == ("1", "1", "2026-03-02")
        assert tried["state"] == SkillState.BUILDING
        eve = rows(tmp_path / "eve", "estimates.csv", makers.TODAY - DAY)
        (untried,) = (row for row in eve if (row["athlete"], row["skill"]) == ("cy", "LAND-1"))
        assert (untried["attempts"], untried["last_at"]) == ("0", "")
        assert untried["state"] == SkillState.UNCHECKED


class TestWhoIsInIt:
    def test_who_has_left_by_the_day_is_out_of_all_four(self, gym: GymClass, out: Path) -> None:
        Athlete.objects.filter(code="bo").update(left=makers.TODAY)

        files = report(out)
        for name, text in files.items():
            people = {row["athlete"] for row in csv.DictReader(text.decode().splitlines())}
            assert people <= {"ada", "cy"}, name
        assert rows(out, "readiness.csv", makers.TODAY - DAY)[1]["athlete"] == "bo"

    def test_what_leavers_tried_is_still_learnt_from(self, gym: GymClass, out: Path) -> None:
        Athlete.objects.update(left=makers.TODAY)
        report(out)

        assert Calibration.objects.get().attempts == Attempt.objects.count() == 32

    def test_who_is_in_no_class_has_every_answer_and_no_group_to_share_with(
        self, gym: GymClass, out: Path
    ) -> None:
        mine = {
            name: [row for row in rows(out, name) if row["athlete"] == "cy"] for name in COLUMNS
        }

        assert {name: len(found) for name, found in mine.items()} == {
            "estimates.csv": 5,
            "readiness.csv": 1,
            "suggestions.csv": 2,
            "next_checks.csv": 2,
        }
        assert mine["readiness.csv"][0]["decision"] == Decision.NEEDS_CHECKS

    def test_in_the_highest_tier_there_is_no_next(self, gym: GymClass, out: Path) -> None:
        Athlete.objects.filter(code="cy").update(tier=2)

        found = {row["athlete"]: row for row in rows(out, "readiness.csv")}
        assert (found["ada"]["next_tier"], found["cy"]["next_tier"]) == ("2", "")

    def test_chances_are_written_with_four_digits(self, gym: GymClass, out: Path) -> None:
        for row in rows(out, "estimates.csv"):
            low, chance, high = row["low"], row["p_clean"], row["high"]
            assert {len(text) for text in (low, chance, high)} == {6}
            assert 0 <= float(low) < float(chance) < float(high) <= 1


def test_an_old_report_stays_whole_where_the_new_one_cannot_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_report(folder=tmp_path, as_of=makers.TODAY)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    whole = module._write

    def disk_full(path: Path, *args: Any) -> int:
        if path.name == "suggestions.csv":
            raise OSError(28, "No space left on device")
        return whole(path, *args)

    monkeypatch.setattr(module, "_write", disk_full)
    with pytest.raises(OSError, match="No space"):
        write_report(folder=tmp_path, as_of=makers.TODAY + timedelta(days=7))
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
