"""``manage.py calibrate``: what it says, and that running it again does no harm."""

from datetime import date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone
from pytest_django import Settings

from progress.engine.parameters import VERSION
from progress.models import Athlete, Calibration
from tests import makers

pytestmark = pytest.mark.django_db


def run() -> str:
    out = StringIO()
    call_command("calibrate", stdout=out)
    return out.getvalue().strip()


def test_it_says_up_to_when_and_from_how_much_it_learnt(
    ada: Athlete, stopped_clock: datetime
) -> None:
    assert run() == f"Calibration before 2026-03-02 on 16 attempts, engine {VERSION}."


def test_running_it_again_changes_nothing(
    ada: Athlete, bo: Athlete, stopped_clock: datetime
) -> None:
    first = run()
    stored = Calibration.objects.values().get()

    assert run() == first
    assert Calibration.objects.values().get() == stored


def test_a_week_later_it_learns_of_this_weeks_attempts(
    cy: Athlete, stopped_clock: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    makers.make_attempt(cy, makers.make_skill(), at=makers.TODAY)
    before = run()
    monkeypatch.setattr(timezone, "now", lambda: stopped_clock + timedelta(weeks=1))

    assert before == f"Calibration before 2026-03-02 on 0 attempts, engine {VERSION}."
    assert run() == f"Calibration before 2026-03-09 on 1 attempts, engine {VERSION}."
    assert Calibration.objects.count() == 2


def test_the_week_begins_at_the_venue(
    settings: Settings, db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On Sunday afternoon in London it is Monday in Auckland."""
    sunday = makers.moment(date(2026, 3, 1), 14, 0)
    monkeypatch.setattr(timezone, "now", lambda: sunday)
    settings.TIME_ZONE = "Pacific/Auckland"
    run()

    assert Calibration.objects.get().cutoff == makers.TODAY


def test_a_gym_without_anything_can_be_calibrated(db: None, stopped_clock: datetime) -> None:
    assert run() == f"Calibration before 2026-03-02 on 0 attempts, engine {VERSION}."
