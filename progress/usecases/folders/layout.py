"""The format as data: the four files, their columns, what each cell may hold."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from progress.engine.terms import Constraint, Result
from progress.usecases.folders.cells import (
    MOST,
    Reader,
    class_codes,
    code,
    codes,
    number,
    one_of,
    pieces,
    text,
    whole,
    yes_or_no,
)
from progress.usecases.folders.dates import day_of, moment_of, week_of
from progress.usecases.folders.rows import AthleteRow, AttemptRow, FloorRow, SkillRow

TALLEST_M = 10


@dataclass(frozen=True)
class Column:
    """A column of a file, in the order of the row's fields.

    ``blank`` is what an empty cell says; where the whole column is absent the value is None.
    ``decimal`` columns may hold a decimal comma in files separated by semicolons.
    """

    name: str
    read: Reader
    required: bool = False
    blank: Any = None
    decimal: bool = False


@dataclass(frozen=True)
class Layout:
    """One file: its name, its columns, and the column whose codes other files name."""

    file: str
    row: Callable[..., Any]
    columns: tuple[Column, ...]
    named_by: str | None = None

    @cached_property
    def header(self) -> list[str]:
        """The column names in their order."""
        return [column.name for column in self.columns]

    @cached_property
    def by_heading(self) -> dict[str, Column]:
        """Columns by their plain heading."""
        return {plain(column.name): column for column in self.columns}


def plain(heading: str) -> str:
    """A heading as it is compared: "Birth date", "birth-date" and "birth_date" are the same."""
    return re.sub(r"[\W_]+", "", heading.casefold())


def chance(value: float) -> bool:
    """Whether a number is a chance that is neither impossible nor certain."""
    return 0 < value < 1


def height(value: float) -> bool:
    """Whether feet can be that many metres up."""
    return 0 <= value <= TALLEST_M


SKILLS = Layout(
    "skills.csv",
    SkillRow,
    (
        Column("skill", code(40, spaces=False), required=True),
        Column("ladder", code(40), required=True),
        Column("tier", whole(1), required=True),
        Column("name", text(200)),
        Column("required", yes_or_no),
        Column("gate", yes_or_no),
        # Needs are taken as given: an emptied cell says that the skill needs nothing any more.
        Column("needs", codes(40), blank=()),
        Column(
            "standard",
            number(chance, "Write a chance between 0 and 1, such as 0.8."),
            decimal=True,
        ),
        Column("look_for", pieces(200)),
        Column("caution", text()),
    ),
    named_by="skill",
)

ATHLETES = Layout(
    "athletes.csv",
    AthleteRow,
    (
        Column("athlete", code(40), required=True),
        Column("tier", whole(1), required=True),
        Column("name", text(200)),
        Column("birth_date", day_of),
        Column("class", class_codes(40)),
        Column("joined", day_of),
    ),
    named_by="athlete",
)

ATTEMPTS = Layout(
    "attempts.csv",
    AttemptRow,
    (
        Column("athlete", code(40), required=True),
        Column("skill", code(40), required=True),
        Column("at", moment_of, required=True),
        Column("result", one_of(Result, "a result"), required=True),
        Column("coach", code(40)),
        Column("variant", code(60)),
        Column("id", code(64)),
        Column("note", text(500)),
    ),
)

FLOOR = Layout(
    "floor.csv",
    FloorRow,
    (
        Column("loop", code(60), required=True),
        Column("station", code(60), required=True),
        Column("variant", code(60), required=True),
        Column("step", whole(-MOST), required=True),
        Column("skill", code(40), required=True),
        Column("week", week_of),
        Column("area", code(40)),
        Column("position", whole(1)),
        Column(
            "difficulty",
            number(lambda value: True, "Write a number of logits, such as -0.5."),
            decimal=True,
        ),
        Column(
            "height_m",
            number(height, f"Write metres from 0 to {TALLEST_M}, such as 0.6."),
            decimal=True,
        ),
        Column("spotter", yes_or_no),
        Column("lanes", whole(1)),
        Column(
            "seconds",
            number(lambda value: value > 0, "Write more than 0 seconds, such as 20."),
            decimal=True,
        ),
        Column("change", one_of(Constraint, "a change the format knows")),
        Column("caution", text()),
    ),
    named_by="variant",
)

LAYOUTS = (SKILLS, ATHLETES, ATTEMPTS, FLOOR)
FILES = tuple(layout.file for layout in LAYOUTS)
