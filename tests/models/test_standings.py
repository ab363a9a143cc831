"""The engine's last answers, and when they are too old to show."""

from datetime import date, timedelta

import pytest
from django.db.models import F

from progress.models import Athlete, Standing
from tests.models.conftest import Refusal

DAY = timedelta(days=1)


@pytest.fixture
def standing(cy: Athlete, today: date) -> Standing:
    """Cy's, worked out today."""
    return Standing.objects.create(
        athlete=cy, on_day=today, basis="b", worked_out=0, decision="ready", p_ready=0.7
    )


def test_one_worked_out_today_is_not_outdated(standing: Standing, today: date) -> None:
    assert not Standing.objects.outdated(on_day=today, basis="b").exists()
    assert list(Standing.objects.fresh(on_day=today, basis="b")) == [standing]


def test_another_day_or_basis_or_a_change_makes_one_outdated(
    standing: Standing, today: date
) -> None:
    assert Standing.objects.outdated(on_day=today + DAY, basis="b").exists()
    assert Standing.objects.outdated(on_day=today, basis="c").exists()
    assert Standing.objects.changed([standing.athlete_id]) == 1
    assert Standing.objects.outdated(on_day=today, basis="b").exists()
    Standing.objects.update(worked_out=F("changes"))
    assert not Standing.objects.outdated(on_day=today, basis="b").exists()


def test_one_never_worked_out_is_outdated(cy: Athlete, today: date) -> None:
    standing = Standing.objects.create(athlete=cy)
    assert list(Standing.objects.outdated(on_day=today, basis="")) == [standing]
    assert not Standing.objects.fresh(on_day=today, basis="").exists()
    assert str(standing) == "Cy: not worked out yet"


@pytest.mark.parametrize(
    ("values", "constraint"),
    [
        ({"decision": "sure"}, "standing_decision_is_known"),
        ({"p_ready": 1.5}, "standing_p_ready_is_a_chance"),
    ],
)
def test_the_database_takes_only_what_the_engine_can_say(
    cy: Athlete, refused: Refusal, values: dict[str, object], constraint: str
) -> None:
    with refused(Standing, constraint):
        Standing.objects.bulk_create([Standing(athlete=cy, **values)])
