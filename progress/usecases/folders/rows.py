"""One row of each file once its cells are read. None stands for an empty or absent cell.

``line`` is the line of the file on which the row begins, counted from 1.
"""

from datetime import date, datetime
from typing import NamedTuple


class SkillRow(NamedTuple):
    """A skill; ``needs`` is None only where the file has no such column."""

    line: int
    skill: str
    ladder: str
    tier: int
    name: str | None
    required: bool | None
    gate: bool | None
    needs: tuple[str, ...] | None
    standard: float | None
    look_for: tuple[str, ...] | None
    caution: str | None


class AthleteRow(NamedTuple):
    """An athlete and the classes the athlete is in now."""

    line: int
    athlete: str
    tier: int
    name: str | None
    birth_date: date | None
    classes: tuple[str, ...] | None
    joined: date | None


class AttemptRow(NamedTuple):
    """An attempt; ``at`` is in UTC."""

    line: int
    athlete: str
    skill: str
    at: datetime
    result: str
    coach: str | None
    variant: str | None
    uid: str | None
    note: str | None


class FloorRow(NamedTuple):
    """A variant of a station in a loop; ``week`` is a Monday, None for the standing floor."""

    line: int
    loop: str
    station: str
    variant: str
    step: int
    skill: str
    week: date | None
    area: str | None
    position: int | None
    difficulty: float | None
    height_m: float | None
    spotter: bool | None
    lanes: int | None
    seconds: float | None
    change: str | None
    caution: str | None
