"""A plan to change: the Monday class on this week's floor, and moves in one line."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

import pytest

from progress.models import Athlete, GymClass, Setup, StaffMember
from progress.usecases.plans.move_athlete import Move, Moved, move_athlete
from tests import makers

NOON = makers.moment(makers.TODAY, hour=12, minute=0)
Mover = Callable[..., Moved]


@pytest.fixture
def now() -> datetime:
    """Noon of the day everything happens on."""
    return NOON


@pytest.fixture
def move(monday_class: GymClass, floor: Setup, coach: StaffMember) -> Mover:
    """Move an athlete: at a station to a variant, or to a loop."""

    def moved(athlete: Athlete, station: str, to: str | None, **values: Any) -> Moved:
        usual = {"coach": coach, "day": makers.TODAY, "now": NOON, "gym_class": monday_class}
        told: dict[str, Any] = {**usual, **values}
        return move_athlete(athlete=athlete, move=Move(station, to), **told)

    return moved
