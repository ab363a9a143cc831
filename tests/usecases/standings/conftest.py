"""A gym whose standings are up to date, and what a full replay of everybody says instead."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import date
from typing import Any

import pytest

from progress.models import Athlete, GymClass, Standing
from progress.usecases.know_athletes import know_athletes
from progress.usecases.standings.keep_up import bring_up_to_date

Committed = Callable[[], AbstractContextManager[object]]


@pytest.fixture
def up_to_date(monday_class: GymClass, cy: Athlete, today: date) -> None:
    """Ada, Bo and Cy, calibrated and worked out today."""
    bring_up_to_date(today=today)


@pytest.fixture
def committed(django_capture_on_commit_callbacks: Any) -> Committed:
    """What happens inside is a transaction of its own: at its end the callbacks run."""

    @contextmanager
    def block() -> Iterator[None]:
        with django_capture_on_commit_callbacks(execute=True):
            yield

    return block


def row_of(athlete: Athlete) -> dict[str, Any]:
    """Everything stored of this athlete's standing."""
    return Standing.objects.values().get(athlete=athlete)


def waiting(today: date) -> int:
    """How many standings are outdated."""
    return bring_up_to_date(today=today, at_most=0).waiting


def stored_is_a_full_replay(today: date) -> bool:
    """Hold every stored standing against the replay of all athletes from all attempts."""
    athletes = list(Athlete.objects.order_by("code"))
    known = know_athletes(athletes=athletes, today=today)
    seen = known.picture
    for row, (athlete, said) in enumerate(zip(athletes, known.readiness, strict=True)):
        stored = Standing.objects.get(athlete=athlete)
        assert (stored.tier, stored.next_tier) == (said.tier, said.next_tier)
        assert stored.decision == said.decision.value
        for name in ("holding_back", "reasons", "would_change"):
            assert tuple(getattr(stored, name)) == getattr(said, name)
        assert stored.last_checked == known.last_checked(row)
        assert stored.p_ready == pytest.approx(said.p_ready, abs=1e-9)
        assert stored.ability == pytest.approx(seen.beliefs.root_mean[row], abs=1e-9)
        assert stored.ability_sd == pytest.approx(seen.beliefs.root_var[row] ** 0.5, abs=1e-9)
        expected = {
            skill.code: pytest.approx(
                [seen.mean[row, column], seen.variance[row, column]], abs=1e-9
            )
            for column, skill in enumerate(seen.catalogue.skills)
        }
        assert stored.abilities == expected
    return True
