"""Which files of a folder are read, and what is said of a folder that is none."""

from pathlib import Path

import pytest

from progress.usecases.folders.find import find_files
from progress.usecases.folders.problems import Problems
from tests.usecases.folders.samples import ATHLETES, load, problems_of, write

pytestmark = pytest.mark.django_db


def test_a_folder_that_does_not_exist_is_refused(tmp_path: Path) -> None:
    problems = Problems()
    assert find_files(tmp_path / "nowhere", problems) == []
    assert problems.refusal(()).problems[0].what == "does not exist."


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    problems = Problems()
    file = tmp_path / "athletes.csv"
    file.write_text(ATHLETES)
    assert find_files(file, problems) == []
    assert problems.refusal(()).problems[0].what == "is not a folder."


def test_a_folder_without_any_of_the_files_is_refused(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"notes.txt": "hello"})
    assert problem.what == "holds none of the files."


def test_other_files_are_left_alone_with_a_remark(tmp_path: Path) -> None:
    remarks = load(
        tmp_path, {"athletes.csv": ATHLETES, "estimates.csv": "x", ".hidden": ""}
    ).remarks
    assert any("'estimates.csv'" in remark for remark in remarks)
    assert not any("hidden" in remark for remark in remarks)


def test_a_spreadsheet_in_the_folder_gets_its_own_words(tmp_path: Path) -> None:
    remarks = load(tmp_path, {"athletes.csv": ATHLETES, "attempts.xlsx": "x"}).remarks
    assert any("CSV UTF-8" in remark for remark in remarks)


def test_two_files_that_differ_only_in_capitals_are_refused(tmp_path: Path) -> None:
    (problem,) = problems_of(tmp_path, {"athletes.csv": ATHLETES, "Athletes.csv": ATHLETES})
    assert problem.file == "athletes.csv"


def test_a_folder_in_the_place_of_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "athletes.csv").mkdir()
    (problem,) = problems_of(tmp_path, {})
    assert (problem.file, problem.what) == ("athletes.csv", "is not a file.")


def test_a_file_that_may_not_be_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, {"athletes.csv": ATHLETES})

    def forbidden(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    monkeypatch.setattr("tests.usecases.folders.samples.write", lambda folder, files: folder)
    (problem,) = problems_of(tmp_path, {})
    assert problem.what == "cannot be read (Permission denied)."
