"""The made-up gym's own data: classes, staff, names and floors, read from the fixtures."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from enum import StrEnum
from pathlib import Path
from typing import Any

from django.conf import settings


class Story(StrEnum):
    """What a made-up child's year is about."""

    LEARNING = "learning"  # at their own speed, nothing special
    READY = "ready"  # knows the tier and was checked well
    STUCK = "stuck"  # as ready, but for one gate
    NEARLY = "nearly"  # as ready, but for one ordinary skill that comes most times
    PLATEAU = "plateau"  # comes, but has stopped learning below the standard
    NEW = "new"  # just joined, never checked
    HELD = "held"  # a hold is in force
    BACK = "back"  # a hold was lifted lately
    AWAY = "away"  # has not come for five weeks
    LEFT = "left"  # has left the gym


WELL_CHECKED = frozenset({Story.READY, Story.STUCK, Story.NEARLY})


@dataclass(frozen=True)
class StaffPlan:
    """A member of staff; ``severity`` in logits makes their checks harder (above 0) or easier."""

    code: str
    name: str
    role: str
    severity: float


@dataclass(frozen=True)
class ClassPlan:
    """A class that last met, or meets, ``days_ago`` days before the day of the question.

    No ``tiers``: for all of them. ``places`` is None where nobody counts them.
    """

    code: str
    name: str
    days_ago: int
    starts_at: time
    minutes: int
    small_area: bool
    children: int
    adults: int
    spotters: int
    coaches: tuple[str, ...]
    youngest: float
    oldest: float
    stories: tuple[Story, ...]
    tiers: tuple[int, ...]
    places: int | None


@dataclass(frozen=True)
class LoopPlan:
    """A loop as station codes in order."""

    code: str
    name: str
    area: str
    stations: tuple[str, ...]


@dataclass(frozen=True)
class WeekPlan:
    """The floor of one week."""

    name: str
    loops: tuple[LoopPlan, ...]

    def stations(self, areas: frozenset[str]) -> frozenset[str]:
        """Codes of the stations that stand in ``areas``."""
        return frozenset(
            code for loop in self.loops if loop.area in areas for code in loop.stations
        )


@dataclass(frozen=True)
class Scenario:
    """Everything the made-up gym is told rather than drawn by lot."""

    staff: tuple[StaffPlan, ...]
    classes: tuple[ClassPlan, ...]
    weeks: tuple[WeekPlan, ...]
    areas: tuple[Mapping[str, Any], ...]
    mats_rated: Mapping[str, float]
    words: Mapping[str, Any]

    @property
    def lead(self) -> StaffPlan:
        """The programme lead."""
        return next(member for member in self.staff if member.role == "lead")

    def areas_of(self, class_: ClassPlan) -> frozenset[str]:
        """Codes of the areas a class uses."""
        return frozenset(area["code"] for area in self.areas if area["small"] == class_.small_area)


def made_up_scenario() -> Scenario:
    """Read the scenario from the fixtures."""
    path = Path(settings.FIXTURE_DIRS[0]) / "made_up_gym.json"
    raw = json.loads(path.read_text(encoding="utf-8"))
    return Scenario(
        staff=tuple(StaffPlan(**member) for member in raw["staff"]),
        classes=tuple(class_from(entry) for entry in raw["classes"]),
        weeks=tuple(
            WeekPlan(week["name"], tuple(loop_from(entry) for entry in week["loops"]))
            for week in raw["weeks"]
        ),
        areas=tuple(raw["areas"]),
        mats_rated=raw["mats_rated_m"],
        words=raw,
    )


def class_from(raw: Mapping[str, Any]) -> ClassPlan:
    """One class; children without a story of their own are simply learning."""
    told = [Story(name) for name, number in raw["stories"].items() for _ in range(number)]
    return ClassPlan(
        code=raw["code"],
        name=raw["name"],
        days_ago=raw["days_ago"],
        starts_at=time.fromisoformat(raw["starts_at"]),
        minutes=raw["minutes"],
        small_area=raw["small_area"],
        children=raw["children"],
        adults=raw["adults"],
        spotters=raw["spotters"],
        coaches=tuple(raw["coaches"]),
        youngest=raw["ages"][0],
        oldest=raw["ages"][1],
        stories=(*told, *(Story.LEARNING for _ in range(raw["children"] - len(told)))),
        tiers=tuple(raw.get("tiers", ())),
        places=raw.get("places"),
    )


def loop_from(raw: Mapping[str, Any]) -> LoopPlan:
    """One loop."""
    return LoopPlan(raw["code"], raw["name"], raw["area"], tuple(raw["stations"]))
