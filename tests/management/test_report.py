"""``manage.py report``: for which day, into which folder, and what it says when it cannot."""

from datetime import date, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from pytest_django import Settings

from progress.models import Athlete, GymClass, Setup
from progress.usecases.write_report import COLUMNS, write_report
from tests import makers

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("stopped_clock")]


@pytest.fixture(autouse=True)
def gym(monday_class: GymClass, cy: Athlete, floor: Setup) -> None:
    """Ada and Bo in a class, Cy in none."""


def run(*options: str) -> list[str]:
    out = StringIO()
    call_command("report", *options, stdout=out)
    return out.getvalue().splitlines()


def refusal(*options: str) -> str:
    with pytest.raises(CommandError) as refused:
        run(*options)
    return str(refused.value)


def files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def written_for(day: date, folder: Path) -> dict[str, bytes]:
    """What the report of that day must be."""
    write_report(folder=folder, as_of=day)
    return files(folder)


def test_without_a_day_it_is_todays(tmp_path: Path, today: date) -> None:
    run("--out", str(tmp_path / "out"))

    assert files(tmp_path / "out") == written_for(today, tmp_path / "today")
    assert files(tmp_path / "out") != written_for(today - timedelta(weeks=1), tmp_path / "before")


def test_today_is_the_day_at_the_venue(tmp_path: Path, settings: Settings, today: date) -> None:
    """Noon in London is an hour after midnight in Auckland."""
    settings.TIME_ZONE = "Pacific/Auckland"
    run("--out", str(tmp_path / "out"))

    tomorrow = today + timedelta(days=1)
    assert files(tmp_path / "out") == written_for(tomorrow, tmp_path / "tomorrow")


def test_an_earlier_day_may_be_asked_for(tmp_path: Path) -> None:
    run("--as-of", "2026-02-16", "--out", str(tmp_path / "out"))

    assert files(tmp_path / "out") == written_for(date(2026, 2, 16), tmp_path / "asked")


def test_it_says_what_was_written_where(tmp_path: Path) -> None:
    told = run("--out", str(tmp_path))

    lines = {name: text.count(b"\n") - 1 for name, text in files(tmp_path).items()}
    assert told == [f"{tmp_path / name}: {lines[name]} rows" for name in COLUMNS]
    assert told[0].endswith("estimates.csv: 15 rows")


@pytest.mark.parametrize("text", ["yesterday", "2026-02-30", "02/03/2026", "2026-3-2"])
def test_what_is_not_a_day_is_refused_with_the_way_to_write_one(tmp_path: Path, text: str) -> None:
    told = refusal("--as-of", text, "--out", str(tmp_path / "out"))

    assert told == f"'{text}' is not a day. Write it as YYYY-MM-DD."
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("folder", "why"),
    [
        ("file", "File exists"),
        ("file/below", "Not a directory"),
        ("taken", "Is a directory"),
        ("x" * 300, "File name too long"),
    ],
)
def test_a_folder_that_cannot_be_written_is_named_with_the_reason(
    tmp_path: Path, folder: str, why: str
) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "taken" / "readiness.csv").mkdir(parents=True)

    assert (
        refusal("--out", str(tmp_path / folder)) == f"Cannot write to {tmp_path / folder}: {why}."
    )
    assert (tmp_path / "file").read_text() == "mine"


def test_a_folder_has_to_be_named() -> None:
    assert "--out" in refusal()


def test_a_gym_without_anything_gets_four_empty_tables(tmp_path: Path) -> None:
    Athlete.objects.update(left=makers.TODAY)

    assert [line.rpartition(": ")[2] for line in run("--out", str(tmp_path))] == ["0 rows"] * 4


@pytest.mark.parametrize("day", ["9999-12-31", "0001-01-01"])
def test_a_day_out_of_reach_is_refused_in_words(tmp_path: Path, day: str) -> None:
    with pytest.raises(CommandError, match="Take a day from 1900 to 2200"):
        call_command("report", as_of=day, out=str(tmp_path))
    assert list(tmp_path.iterdir()) == []
