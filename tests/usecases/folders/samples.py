"""A small folder in which everything fits, and how tests write and load folders."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

from django.apps import apps
from django.db.models import Model

from progress.usecases.folders.problems import FolderRefused, Problem
from progress.usecases.load_folder import Loaded, load_folder

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)  # a Monday evening; London keeps UTC in winter

SKILLS = """\
skill,ladder,tier,name,required,gate,needs,standard,look_for,caution
land-1,landing,1,Land still,yes,yes,,0.9,Knees bend | Feet stay,Mat rated by its maker.
hang-1,hanging,1,Hang,yes,no,,0.8,,
hang-2,hanging,2,Travel,no,no,hang-1 land-1,0.75,,
"""
ATHLETES = """\
athlete,tier,name,birth_date,class,joined
ann,1,Ann,2018-02-01,monday,2025-09-01
ben,2,Ben,,,
"""
ATTEMPTS = """\
athlete,skill,at,result,coach,variant,id,note
ann,land-1,2026-02-23T16:40:00+00:00,clean,kim,low,try-1,
ann,hang-1,2026-02-23T16:45:00+00:00,miss,kim,,try-2,slipped
ben,hang-2,2026-02-24,assisted,,,try-3,
"""
FLOOR = """\
loop,station,variant,step,skill,week,area,position,difficulty,height_m,spotter,lanes,seconds,change
red,jump,low,-1,land-1,2026-02-23,hall,1,-0.5,0.2,no,2,15,height
red,jump,high,0,land-1,2026-02-23,hall,1,,0.4,yes,2,15,height
red,bars,still,0,hang-1,2026-02-23,hall,2,,,no,1,20,
"""
VALID = {
    "skills.csv": SKILLS,
    "athletes.csv": ATHLETES,
    "attempts.csv": ATTEMPTS,
    "floor.csv": FLOOR,
}


def write(folder: Path, files: Mapping[str, str | bytes]) -> Path:
    """Write these files into ``folder``, just as they are."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        data = content.encode() if isinstance(content, str) else content
        (folder / name).write_bytes(data)
    return folder


def load(folder: Path, files: Mapping[str, str | bytes], now: datetime = NOW) -> Loaded:
    """Write these files into ``folder`` and load it."""
    return load_folder(folder=write(folder, files), now=now)


def load_valid(folder: Path) -> Loaded:
    """Load the folder in which everything fits."""
    return load(folder, VALID)


def problems_of(folder: Path, files: Mapping[str, str | bytes]) -> tuple[Problem, ...]:
    """The problems of a folder; also makes sure that a refused folder changes no record."""
    before = records()
    try:
        loaded = load(folder, files)
    except FolderRefused as refused:
        assert records() == before
        return refused.problems
    raise AssertionError(f"The folder was not refused: {loaded}")


def records() -> dict[type[Model], int]:
    """How many records of each kind there are."""
    return {
        model: model._base_manager.count() for model in apps.get_app_config("progress").get_models()
    }


def table(header: str, *rows: str) -> str:
    """A file from its lines."""
    return "\n".join((header, *rows, ""))
