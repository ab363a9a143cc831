"""The two commands: what they print, how they end, and what they leave behind."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from progress.models import Attempt
from tests.usecases.folders.samples import ATTEMPTS, VALID, records, table, write

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("stopped_clock")]

# The clock of these tests stands still at noon of 2 March 2026, after all of the sample.


def run(command: str, folder: Path, *options: str) -> tuple[str, str, CommandError | None]:
    """What the command wrote to each of its outlets, and its error."""
    out, err = StringIO(), StringIO()
    try:
        call_command(command, str(folder), *options, stdout=out, stderr=err)
    except CommandError as error:
        return out.getvalue(), err.getvalue(), error
    return out.getvalue(), err.getvalue(), None


def test_loading_says_what_was_stored(tmp_path: Path) -> None:
    out, err, error = run("load_folder", write(tmp_path, VALID))
    assert "attempts.csv: 3 new, 0 updated, 0 the same" in out
    assert (err, error) == ("", None)


def test_a_refused_folder_is_listed_line_by_line(tmp_path: Path) -> None:
    attempts = ATTEMPTS.replace("clean", "cleen").replace("miss", "missed")
    before = records()
    _, err, error = run("load_folder", write(tmp_path, VALID | {"attempts.csv": attempts}))
    assert err.splitlines() == [
        "attempts.csv, line 2, column result: 'cleen' is not a result."
        " Write miss, assisted or clean.",
        "attempts.csv, line 3, column result: 'missed' is not a result."
        " Write miss, assisted or clean.",
    ]
    assert str(error) == "Nothing was stored: 2 problems to mend."
    assert error is not None
    assert error.returncode == 1
    assert records() == before


def test_very_many_problems_are_cut_short(tmp_path: Path) -> None:
    attempts = table("athlete,skill,at,result", *["ann,land-1,2026-02-20,cleen"] * 1_000)
    _, err, _ = run("load_folder", write(tmp_path, VALID | {"attempts.csv": attempts}))
    assert len(err.splitlines()) == 201
    assert err.splitlines()[-1] == "... and 800 more problems of these kinds."


def test_the_size_of_a_file_is_limited(tmp_path: Path) -> None:
    folder = write(tmp_path, VALID | {"attempts.csv": ATTEMPTS + "\n" * 20_000})
    _, err, error = run("load_folder", folder, "--most-mb", "0.01")
    assert "attempts.csv: is 0.02 MB long" in err
    assert error is not None


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    _, err, error = run("load_folder", tmp_path / "nowhere")
    assert f"{tmp_path / 'nowhere'}: does not exist." in err
    assert error is not None


def test_saving_says_how_many_rows_were_written(tmp_path: Path) -> None:
    run("load_folder", write(tmp_path / "in", VALID))
    out, _, error = run("save_folder", tmp_path / "out")
    assert "attempts.csv: 3 rows" in out
    assert error is None


def test_saving_over_files_asks_for_a_word(tmp_path: Path) -> None:
    folder = write(tmp_path, {"skills.csv": "mine"})
    _, _, error = run("save_folder", folder)
    assert "--replace" in str(error)
    assert run("save_folder", folder, "--replace")[2] is None


def test_saving_where_nothing_can_be_written_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    _, _, error = run("save_folder", tmp_path / "file")
    assert "cannot be written" in str(error)


def test_what_was_saved_can_be_loaded_by_name(tmp_path: Path) -> None:
    run("load_folder", write(tmp_path / "in", VALID))
    run("save_folder", tmp_path / "out")
    out, _, error = run("load_folder", tmp_path / "out")
    assert "attempts.csv: 0 new, 0 updated, 3 the same" in out
    assert error is None
    assert Attempt.objects.count() == 3
