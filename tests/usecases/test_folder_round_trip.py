"""Whatever a valid folder holds: loaded into an empty gym and saved again, it is the same."""

import csv
import io
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from progress.engine.terms import Constraint, Result
from progress.models import Skill
from progress.usecases.folders.texts import unescaped
from progress.usecases.load_folder import load_folder
from progress.usecases.save_folder import save_folder
from tests.usecases.folders.samples import NOW, write

pytestmark = pytest.mark.django_db

# Letters, what spreadsheets run, what separates cells and pieces, and what is quoted.
AWKWARD = st.sampled_from("=+-@'\",;|\t\n\r éß猫😀=")
TEXTS = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0") | AWKWARD, max_size=15
)
CODE_LETTERS = st.characters(categories=["L", "N", "P", "S"]).filter(str.isprintable)
CODES = st.text(CODE_LETTERS, min_size=1, max_size=12)
OPTIONAL_NUMBERS = st.none() | st.floats(0.001, 9.999)
YES_NO = st.sampled_from(["yes", "no", ""])


def code_lists(least: int = 1, most: int = 4) -> st.SearchStrategy[list[str]]:
    """Different codes."""
    return st.lists(CODES, min_size=least, max_size=most, unique=True)


@st.composite
def skills(draw: st.DrawFn) -> list[dict[str, Any]]:
    """A catalogue; each skill may need those before it, so that there is no circle."""
    codes = draw(code_lists())
    return [
        {
            "skill": code,
            "ladder": draw(CODES),
            "tier": draw(st.integers(1, 5)),
            "name": draw(TEXTS),
            "required": draw(YES_NO),
            "gate": draw(YES_NO),
            "needs": " ".join(draw(st.sets(st.sampled_from(codes[:place])))) if place else "",
            "standard": draw(st.none() | st.floats(0.001, 0.999)),
            "look_for": draw(TEXTS),
            "caution": draw(TEXTS),
        }
        for place, code in enumerate(codes)
    ]


@st.composite
def athletes(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Athletes born before anybody tries anything."""
    born = st.none() | st.dates(date(2010, 1, 1), date(2019, 12, 31))
    joined = st.none() | st.dates(date(2020, 1, 1), date(2026, 1, 1))
    return [
        {
            "athlete": code,
            "tier": draw(st.integers(1, 6)),
            "name": draw(TEXTS),
            "birth_date": draw(born),
            "class": " | ".join(draw(code_lists(0, 2))),
            "joined": draw(joined),
        }
        for code in draw(code_lists())
    ]


@st.composite
def floor(draw: st.DrawFn, known: list[str]) -> list[dict[str, Any]]:
    """Weeks of loops that share stations, each station listed in full wherever it comes up."""
    rows = []
    for week in draw(st.lists(st.sampled_from(["", "2026-W07", "2026-02-16"]), unique=True)):
        stations = {
            station: [
                {
                    "station": station,
                    "variant": variant,
                    "step": step,
                    "skill": draw(st.sampled_from(known)),
                    "difficulty": draw(st.none() | st.floats(-9, 9)),
                    "height_m": draw(OPTIONAL_NUMBERS),
                    "spotter": draw(YES_NO),
                    "lanes": draw(st.integers(1, 4)),
                    "seconds": draw(OPTIONAL_NUMBERS),
                    "change": draw(st.sampled_from(["", *Constraint])),
                    "caution": draw(TEXTS),
                }
                for step, variant in enumerate(draw(code_lists(1, 3)), start=-1)
            ]
            for station in draw(code_lists(1, 3))
        }
        for loop in draw(code_lists(1, 3)):
            area = draw(CODES | st.just(""))
            stops = draw(st.lists(st.sampled_from(sorted(stations)), min_size=1, unique=True))
            for station in stops:
                rows += [{"week": week, "loop": loop, "area": area} | v for v in stations[station]]
    return rows


@st.composite
def folders(draw: st.DrawFn) -> dict[str, str | bytes]:
    """A folder in which everything fits."""
    catalogue, people = draw(skills()), draw(athletes())
    known = [row["skill"] for row in catalogue]
    stations = draw(floor(known))
    variants = ["", *(row["variant"] for row in stations)]
    times = st.datetimes(datetime(2020, 2, 1), datetime(2026, 3, 1), timezones=st.just(UTC))
    tries = [
        {
            "athlete": draw(st.sampled_from([row["athlete"] for row in people])),
            "skill": draw(st.sampled_from(known)),
            "at": draw(times.map(datetime.isoformat) | times.map(lambda at: str(at.date()))),
            "result": draw(st.sampled_from(Result)),
            "coach": draw(st.just("") | CODES),
            "variant": draw(st.sampled_from(variants)),
            "id": "",
            "note": draw(TEXTS),
        }
        for _ in range(draw(st.integers(0, 5)))
    ]
    return {
        "skills.csv": as_csv(catalogue),
        "athletes.csv": as_csv(people),
        "attempts.csv": as_csv(tries) if tries else "athlete,skill,at,result\n",
        "floor.csv": as_csv(stations) if stations else "loop,station,variant,step,skill\n",
    }


def as_csv(rows: list[dict[str, Any]]) -> str:
    """Rows as another program would write them: nothing is escaped against formulas."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(rows[0]), quoting=csv.QUOTE_ALL)
    writer.writeheader()
    writer.writerows(rows)
    return file.getvalue()


@contextmanager
def empty_gym() -> Iterator[Path]:
    """No records, and a folder; both are gone afterwards."""
    with tempfile.TemporaryDirectory() as folder, transaction.atomic():
        yield Path(folder)
        transaction.set_rollback(True)


def through(folder: Path, files: dict[str, str | bytes]) -> dict[str, str | bytes]:
    """Load these files and save them again."""
    load_folder(folder=write(folder / "in", files), now=NOW)
    save_folder(folder=folder / "out")
    return {path.name: path.read_bytes() for path in (folder / "out").iterdir()}


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(files=folders())
def test_a_saved_folder_comes_back_byte_for_byte(files: dict[str, str | bytes]) -> None:
    with empty_gym() as folder:
        once = through(folder, files)
        again = load_folder(folder=folder / "out", now=NOW)
        assert not any(tally.new or tally.updated for tally in again.files.values())
    with empty_gym() as folder:
        assert through(folder, once) == once


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(text=TEXTS.map(str.strip).filter(bool))
def test_text_is_stored_as_it_was_before_it_was_saved(text: str) -> None:
    said = text.replace("\r\n", "\n").replace("\r", "\n")
    files: dict[str, str | bytes] = {
        "skills.csv": as_csv([{"skill": "land", "ladder": "landing", "tier": 1, "caution": text}]),
    }
    with empty_gym() as folder:
        once = through(folder, files)
        stored = Skill.objects.get().caution
    with empty_gym() as folder:
        load_folder(folder=write(folder, once), now=NOW)
        assert Skill.objects.get().caution == stored
    # Only text that itself looks escaped is taken for what a spreadsheet or a saving escaped.
    assert stored == unescaped(said)
