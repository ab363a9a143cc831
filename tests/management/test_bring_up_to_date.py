"""``manage.py bring_up_to_date``: what it says, and that running it again does no harm."""

from datetime import date, datetime, timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.utils import timezone

from progress.models import Athlete, Standing
from progress.usecases.standings import keep_up
from progress.usecases.standings.changed import note_changed
from progress.usecases.standings.work_out import work_out

pytestmark = pytest.mark.django_db


def run() -> str:
    out = StringIO()
    call_command("bring_up_to_date", stdout=out)
    return out.getvalue().strip()


def test_it_works_everybody_out_and_says_how_many(
    ada: Athlete, bo: Athlete, stopped_clock: datetime, today: date
) -> None:
    assert run() == "Worked out 2 standings as of 2026-03-02."
    assert Standing.objects.filter(on_day=today, decision="ready").get().athlete == ada


def test_the_second_time_there_is_nothing_to_do(ada: Athlete, stopped_clock: datetime) -> None:
    run()
    stored = Standing.objects.values().get()

    assert run() == "Worked out 0 standings as of 2026-03-02."
    assert Standing.objects.values().get() == stored


def test_the_next_night_everybody_is_worked_out_again(
    ada: Athlete, stopped_clock: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    run()
    monkeypatch.setattr(timezone, "now", lambda: stopped_clock + timedelta(days=1))
    assert run() == "Worked out 1 standings as of 2026-03-03."


def test_it_says_who_changed_while_it_ran(
    ada: Athlete, stopped_clock: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(**told: object) -> int:
        done = work_out(**told)  # type: ignore[arg-type]
        note_changed(athletes=[ada.pk])
        return done

    monkeypatch.setattr(keep_up, "work_out", interrupted)
    said = "Worked out 1 standings as of 2026-03-02. 1 changed meanwhile and still wait."
    assert run() == said


def test_an_empty_gym_needs_nothing(db: None, stopped_clock: datetime) -> None:
    assert run() == "Worked out 0 standings as of 2026-03-02."
