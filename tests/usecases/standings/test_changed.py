"""After a save the athletes it touched are worked out again, and nobody else."""

import logging
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from progress.models import Athlete, Calibration, StaffMember, Standing
from progress.usecases.families.erasure import erase
from progress.usecases.place_hold import lift_hold, place_hold
from progress.usecases.standings import changed as changing
from progress.usecases.standings.changed import athletes_changed, note_changed
from progress.usecases.standings.keep_up import bring_up_to_date
from tests import makers
from tests.usecases.folders.samples import load, table
from tests.usecases.recording import entry, record
from tests.usecases.standings.conftest import (
    Committed,
    row_of,
    stored_is_a_full_replay,
    waiting,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("up_to_date")]
DAY = timedelta(days=1)


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """Working anything out fails."""

    def fail(**told: Any) -> int:
        raise RuntimeError("no space left on the disk")

    monkeypatch.setattr(changing, "work_out", fail)


class TestWhatASaveMends:
    def test_the_athlete_is_worked_out_when_the_save_is_committed(
        self, ada: Athlete, today: date, committed: Committed
    ) -> None:
        before = row_of(ada)
        with committed():
            record(entry(1, result="miss"))
            assert waiting(today) == 1

        after = row_of(ada)
        assert waiting(today) == 0
        assert after["p_ready"] < before["p_ready"]
        assert after["changes"] == after["worked_out"] == before["changes"] + 1
        assert after["last_checked"] == today

    def test_nobody_elses_row_is_touched(
        self, bo: Athlete, cy: Athlete, today: date, committed: Committed
    ) -> None:
        before = [row_of(bo), row_of(cy)]
        with committed():
            record(entry(1), entry(2, result="assisted"))

        assert [row_of(bo), row_of(cy)] == before

    def test_a_correction_mends_it_too(
        self, ada: Athlete, today: date, committed: Committed
    ) -> None:
        with committed():
            record(entry(1, result="miss"))
        with_miss = row_of(ada)["p_ready"]
        with committed():
            record(entry(2, supersedes="u1", taken_back=True, reason="Not Ada."))

        assert row_of(ada)["p_ready"] > with_miss
        assert stored_is_a_full_replay(today)

    def test_a_save_sent_twice_changes_it_once(self, ada: Athlete, committed: Committed) -> None:
        with committed():
            record(entry(1))
        once = row_of(ada)
        with committed():
            record(entry(1))

        assert row_of(ada) == once

    def test_a_hold_placed_and_lifted(
        self, ada: Athlete, coach: StaffMember, lead: StaffMember, today: date, committed: Committed
    ) -> None:
        with committed():
            hold = place_hold(athlete=ada, kind="wish", coach=coach, today=today)
        held = row_of(ada)
        with committed():
            lift_hold(hold=hold, lead=lead, today=today)

        assert (held["decision"], row_of(ada)["decision"]) == ("nearly", "ready")
        assert "on hold: ask the lead" in held["reasons"]
        assert stored_is_a_full_replay(today)

    def test_a_birth_date_changed_by_a_use_case_of_ones_own(
        self, ada: Athlete, today: date, committed: Committed
    ) -> None:
        with committed(), transaction.atomic():
            Athlete.objects.filter(pk=ada.pk).update(birth_date=today - 1000 * DAY)
            athletes_changed(athletes=[ada.pk], today=today)

        assert "younger than tier 2 asks for" in row_of(ada)["reasons"]

    def test_an_athlete_without_a_standing_gets_one(
        self, today: date, committed: Committed
    ) -> None:
        new = makers.make_athlete("di")
        with committed():
            athletes_changed(athletes=[new.pk], today=today)

        assert row_of(new)["decision"] == "needs_checks"
        assert waiting(today) == 0

    def test_nobody_changed(self, today: date, committed: Committed) -> None:
        with committed():
            athletes_changed(athletes=[], today=today)
        assert waiting(today) == 0


class TestWhatIsLeftOutdated:
    def test_a_failure_leaves_the_save_stored_and_the_row_outdated(
        self,
        ada: Athlete,
        today: date,
        broken: None,
        committed: Committed,
        caplog: pytest.LogCaptureFixture,
    ) -> None:
        before = row_of(ada)
        with caplog.at_level(logging.ERROR), committed():
            recorded = record(entry(1, result="miss"))

        assert [attempt.uid for attempt in recorded.attempts] == ["u1"]
        assert ada.attempts.filter(uid="u1").exists()
        assert row_of(ada) == {**before, "changes": before["changes"] + 1}
        assert waiting(today) == 1
        assert "no space left on the disk" in caplog.text
        assert bring_up_to_date(today=today).worked_out == 1
        assert stored_is_a_full_replay(today)

    def test_a_save_that_is_refused_changes_nothing(
        self, ada: Athlete, today: date, committed: Committed
    ) -> None:
        before = row_of(ada)

        def refused() -> None:
            with transaction.atomic():
                athletes_changed(athletes=[ada.pk], today=today)
                raise RuntimeError

        with committed(), pytest.raises(RuntimeError):
            refused()

        assert row_of(ada) == before

    def test_too_many_at_once_are_only_noted(
        self,
        ada: Athlete,
        bo: Athlete,
        today: date,
        committed: Committed,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        monkeypatch.setattr(changing, "MOST_AT_ONCE", 1)
        with committed():
            athletes_changed(athletes=[ada.pk, bo.pk], today=today)

        assert waiting(today) == 2

    def test_nobody_who_saves_waits_for_a_first_calibration(
        self, ada: Athlete, today: date, committed: Committed
    ) -> None:
        Calibration.objects.all().delete()
        with committed():
            record(entry(1))

        assert not Calibration.objects.exists()
        assert row_of(ada)["changes"] == row_of(ada)["worked_out"] + 1

    def test_standings_of_another_day_stay_outdated(
        self, ada: Athlete, bo: Athlete, today: date, committed: Committed
    ) -> None:
        with committed():
            athletes_changed(athletes=[ada.pk], today=today + DAY)

        assert row_of(ada)["on_day"] == today + DAY
        assert waiting(today + DAY) == 2


class TestFolders:
    def test_a_loaded_folder_changes_whom_it_names_and_nobody_else(
        self, ada: Athlete, bo: Athlete, today: date, tmp_path: Path, committed: Committed
    ) -> None:
        before = row_of(bo)
        rows = ("ada,HANG-1,2026-03-01 16:00,miss,kim",)
        with committed():
            load(tmp_path, {"attempts.csv": table("athlete,skill,at,result,coach", *rows)})

        assert row_of(ada)["last_checked"] == date(2026, 3, 1)
        assert row_of(bo) == before
        assert stored_is_a_full_replay(today)

    def test_an_athlete_moved_by_a_file_is_worked_out_again(
        self, ada: Athlete, today: date, tmp_path: Path, committed: Committed
    ) -> None:
        with committed():
            load(tmp_path, {"athletes.csv": table("athlete,tier", "ada,2", "bo,1", "new,1")})

        assert row_of(ada)["tier"] == 2
        assert waiting(today) == 1  # the new one, of whom nothing is stored yet

    def test_a_file_that_says_nothing_new_changes_nobody(
        self, today: date, tmp_path: Path, committed: Committed
    ) -> None:
        before = list(Standing.objects.values())
        with committed():
            load(tmp_path, {"athletes.csv": table("athlete,tier", "ada,1", "bo,1")})

        assert list(Standing.objects.values()) == before


def test_an_erased_child_leaves_no_standing(
    ada: Athlete, bo: Athlete, today: date, committed: Committed
) -> None:
    with committed():
        erase(athlete=ada, pseudonym="erased-x", now=makers.moment(today))
    bring_up_to_date(today=today)

    assert not Standing.objects.filter(athlete=ada).exists()
    assert Standing.objects.filter(athlete=bo).exists()


def test_a_note_for_a_standing_made_meanwhile_is_not_lost(
    today: date, committed: Committed
) -> None:
    """Its row is made, from the older records, while the transaction that changes them runs."""
    new = makers.make_athlete("di")
    with committed():
        note_changed(athletes=[new.pk])  # there is no row to note it on
        bring_up_to_date(today=today)
        assert Standing.objects.filter(athlete=new).exists()

    assert waiting(today) == 1
