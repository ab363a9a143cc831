"""Children with a case each, and the lead's ordinary way to move them."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any

import pytest

from progress.models import Athlete, SignOff, Skill, StaffMember
from progress.usecases.sign_offs.cases import look_at
from progress.usecases.sign_offs.sign_off import Seen, sign_off
from tests import makers

NOW = makers.moment(hour=13, minute=5)
SENTENCE = "Steady on both ladders for a month."
Moving = Callable[..., tuple[SignOff, ...]]


def weeks_ago(*weeks: int) -> list[Any]:
    return [makers.TODAY - timedelta(weeks=each) for each in weeks]


@pytest.fixture
def eve(small_catalogue: dict[str, Skill], coach: StaffMember, lead: StaffMember) -> Athlete:
    """Lands safely for two coaches, and has never hung without help: the engine says building."""
    return make_like_eve("eve", small_catalogue, coach, lead)


def make_like_eve(
    code: str, skills: dict[str, Skill], coach: StaffMember, lead: StaffMember
) -> Athlete:
    athlete = makers.make_athlete(code)
    days, by = weeks_ago(4, 3, 2, 1), (coach, lead)
    makers.make_attempts(athlete, skills["LAND-1"], ["clean"] * 16, days=days, coaches=by)
    makers.make_attempts(athlete, skills["HANG-1"], ["miss"] * 8, days=days, coaches=by)
    return athlete


def make_like_ada(
    code: str, skills: dict[str, Skill], coach: StaffMember, lead: StaffMember
) -> Athlete:
    athlete = makers.make_athlete(code)
    for name in ("LAND-1", "HANG-1"):
        makers.make_attempts(
            athlete,
            skills[name],
            ["clean"] * 8,
            days=weeks_ago(4, 3, 2, 1),
            coaches=(coach, lead),
        )
    return athlete


def seen_now(athletes: Sequence[Athlete]) -> dict[str, Seen]:
    """What a lead who opens the form at this moment sees."""
    cases = look_at(athletes=athletes, today=makers.TODAY).all
    return {c.athlete.code: Seen(c.athlete.tier_id, c.readiness.decision) for c in cases}


@pytest.fixture
def move(lead: StaffMember) -> Moving:
    """Move athletes up as the form would, with anything said otherwise by name."""

    def send(*athletes: Athlete, now: datetime = NOW, **others: Any) -> tuple[SignOff, ...]:
        values: dict[str, Any] = {"sentence": SENTENCE, "lead": lead, "today": makers.TODAY}
        values |= others
        if "seen" not in values:
            values["seen"] = seen_now(athletes)
        return sign_off(athletes=athletes, now=now, **values)

    return send


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[set[int]]:
    """Who was said to have changed, call by call."""
    calls: list[set[int]] = []

    def note(*, athletes: Any, today: Any) -> None:
        assert today == makers.TODAY
        calls.append(set(athletes))

    for name in ("sign_off", "undo", "move_back"):
        monkeypatch.setattr(f"progress.usecases.sign_offs.{name}.athletes_changed", note)
    return calls
