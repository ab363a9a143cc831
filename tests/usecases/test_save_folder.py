"""Saving a folder: what is written and how, and what happens to files that are there."""

import stat
from datetime import date
from pathlib import Path

import pytest

from progress.models import Athlete, Attempt, Setup, Skill, Variant
from progress.usecases import save_folder as use_case
from progress.usecases.save_folder import FilesInTheWay, save_folder
from tests.makers import (
    enrol,
    make_area,
    make_athlete,
    make_attempt,
    make_class,
    make_correction,
    make_loop,
    make_setup,
    make_skill,
    make_station,
    make_variant,
    moment,
)
from tests.usecases.folders.samples import VALID, load, load_valid, records

pytestmark = pytest.mark.django_db


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A folder that is not there yet."""
    return tmp_path / "deep" / "out"


def saved(folder: Path) -> dict[str, str]:
    """Save, and read what was written."""
    save_folder(folder=folder, replace=True)
    return {path.name: path.read_bytes().decode() for path in folder.iterdir()}


def rows(folder: Path, file: str) -> list[str]:
    """The lines of a saved file without its header."""
    return saved(folder)[file].splitlines()[1:]


def test_all_four_files_are_written_even_where_there_is_nothing(out: Path) -> None:
    files = saved(out)
    assert set(files) == set(VALID)
    assert files["skills.csv"] == (
        "skill,ladder,tier,name,required,gate,needs,standard,look_for,caution\n"
    )


def test_the_rows_written_are_counted(tmp_path: Path, out: Path) -> None:
    load_valid(tmp_path / "in")
    counted = save_folder(folder=out).files
    assert counted == {"skills.csv": 3, "athletes.csv": 2, "attempts.csv": 3, "floor.csv": 3}


def test_every_kind_of_row_is_written_in_its_form(tmp_path: Path, out: Path) -> None:
    load_valid(tmp_path / "in")
    files = saved(out)
    assert files["skills.csv"].splitlines()[1] == (
        "land-1,landing,1,Land still,yes,yes,,0.9,Knees bend | Feet stay,Mat rated by its maker."
    )
    assert files["athletes.csv"].splitlines()[1] == "ann,1,Ann,2018-02-01,monday,2025-09-01"
    assert files["attempts.csv"].splitlines()[2] == (
        "ann,hang-1,2026-02-23T16:45:00+00:00,miss,kim,,try-2,slipped"
    )
    assert files["floor.csv"].splitlines()[1] == (
        "red,jump,low,-1,land-1,2026-02-23,hall,1,-0.5,0.2,no,2,15.0,height,"
    )


def test_times_carry_the_gyms_own_offset(out: Path) -> None:
    make_attempt(make_athlete("ann"), make_skill("land"), at=moment(date(2025, 7, 1), 16, 30))
    assert "2025-07-01T17:30:00+01:00" in rows(out, "attempts.csv")[0]


def test_attempts_of_one_moment_are_in_the_order_of_their_ids(out: Path) -> None:
    ann, land = make_athlete("ann"), make_skill("land")
    for uid in ("b", "a", "C"):
        make_attempt(ann, land, uid=uid)
    assert [row.split(",")[6] for row in rows(out, "attempts.csv")] == ["C", "a", "b"]


def test_only_standing_attempts_are_saved(out: Path) -> None:
    ann, land = make_athlete("ann"), make_skill("land")
    make_correction(make_attempt(ann, land, uid="wrong"), "miss", uid="right")
    make_correction(make_attempt(ann, land, uid="slip"), uid="taken-back")
    assert [row.split(",")[6] for row in rows(out, "attempts.csv")] == ["right"]


@pytest.mark.parametrize("name", ["=1+1", "+44", "-5", "@here", "'=1", "＝1"])
def test_no_cell_of_text_starts_like_a_formula(out: Path, name: str) -> None:
    make_athlete("ann", name=name)
    assert rows(out, "athletes.csv")[0].split(",")[2] == f"'{name}"


def test_negative_numbers_stay_numbers(out: Path) -> None:
    setup = make_setup(None)
    station = make_station(setup, "jump")
    make_variant(station, make_skill("land"), "low", step=-2, difficulty=-0.25)
    make_loop(setup, "red", stations=[station], area=make_area("hall"))
    assert rows(out, "floor.csv") == ["red,jump,low,-2,land,,hall,1,-0.25,,no,1,,,"]


def test_the_undated_floor_comes_before_the_weeks(out: Path) -> None:
    for week in (date(2026, 3, 2), None, date(2026, 2, 23)):
        setup = make_setup(week)
        make_loop(setup, "red", stations=[make_station(setup, "x", variants=[make_skill()])])
    weeks = [row.split(",")[5] for row in rows(out, "floor.csv")]
    assert weeks == ["", "2026-02-23", "2026-03-02"]


def test_an_unpublished_floor_is_not_saved(out: Path) -> None:
    setup = make_setup(date(2026, 3, 2), published=False)
    make_loop(setup, "red", stations=[make_station(setup, "x", variants=[make_skill()])])
    assert rows(out, "floor.csv") == []


def test_an_unpublished_week_that_attempts_were_made_on_is_saved(out: Path) -> None:
    setup = make_setup(date(2026, 3, 2), published=False)
    station = make_station(setup, "x", variants=[make_skill()])
    make_loop(setup, "red", stations=[station])
    variant = Variant.objects.get()
    make_attempt(make_athlete(), variant.skill, variant=variant)
    assert len(rows(out, "floor.csv")) == 1
    assert f",{variant.code}," in rows(out, "attempts.csv")[0]


def test_a_variant_that_no_saved_floor_has_is_left_out_and_said(out: Path) -> None:
    station = make_station(make_setup(None, published=False), "x", variants=[make_skill()])
    variant = station.variants.get()
    make_attempt(make_athlete("ann"), variant.skill, variant=variant)
    assert any(variant.code in remark for remark in save_folder(folder=out).remarks)
    assert variant.code not in rows(out, "attempts.csv")[0]


def test_only_places_without_an_end_are_saved(out: Path) -> None:
    ann = make_athlete("ann", name="", birth_date=None, joined=None)
    enrol(ann, make_class("friday"))
    enrol(ann, make_class("thursday"), until=date(2026, 1, 1))
    enrol(ann, make_class("monday"))
    assert rows(out, "athletes.csv") == ["ann,1,,,friday | monday,"]


def test_what_could_not_be_loaded_again_is_said(out: Path) -> None:
    make_skill("wall run")
    (remark,) = save_folder(folder=out).remarks
    assert remark.startswith("skills.csv, line 2, column skill: 'wall run' holds a space.")


def test_files_that_are_there_are_not_replaced_unasked(tmp_path: Path) -> None:
    (tmp_path / "Attempts.csv").write_text("mine")
    with pytest.raises(FilesInTheWay, match=r"'Attempts\.csv'"):
        save_folder(folder=tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["Attempts.csv"]


def test_files_that_are_there_are_replaced_when_asked(tmp_path: Path) -> None:
    (tmp_path / "Attempts.csv").write_text("mine")
    (tmp_path / "skills.csv").write_text("mine")
    (tmp_path / "notes.txt").write_text("mine")
    save_folder(folder=tmp_path, replace=True)
    assert {path.name for path in tmp_path.iterdir()} == {*VALID, "notes.txt"}
    assert (tmp_path / "skills.csv").read_text() != "mine"


def test_a_saving_that_fails_leaves_the_files_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    (tmp_path / "skills.csv").write_text("mine")
    monkeypatch.setattr(use_case, "floor_lines", full)
    with pytest.raises(OSError, match="No space"):
        save_folder(folder=tmp_path, replace=True)
    assert [path.name for path in tmp_path.iterdir()] == ["skills.csv"]
    assert (tmp_path / "skills.csv").read_text() == "mine"


def test_the_files_are_for_their_owner_alone(out: Path) -> None:
    save_folder(folder=out)
    assert {stat.S_IMODE(path.stat().st_mode) for path in out.iterdir()} == {0o600}


def test_loading_what_was_saved_into_the_same_records_changes_nothing(
    tmp_path: Path, out: Path
) -> None:
    load_valid(tmp_path / "in")
    before = records()
    files = saved(out)
    loaded = load(tmp_path / "again", files)
    assert records() == before
    assert all(not tally.new and not tally.updated for tally in loaded.files.values())


def test_saving_twice_gives_the_same_bytes(tmp_path: Path) -> None:
    load_valid(tmp_path / "in")
    assert saved(tmp_path / "one") == saved(tmp_path / "two")


def test_saving_changes_no_record(tmp_path: Path, out: Path) -> None:
    load_valid(tmp_path / "in")
    before = records()
    save_folder(folder=out)
    assert records() == before
    assert (Athlete.objects.count(), Attempt.objects.count()) == (2, 3)
    assert (Skill.objects.count(), Setup.objects.count()) == (3, 1)
