"""Two who work the same standing out at once never make an old answer look new."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from progress.engine.log import Log
from progress.models import Athlete, Skill, Standing
from progress.usecases.standings import work_out as working
from progress.usecases.standings.basis import basis_of
from progress.usecases.standings.changed import note_changed
from progress.usecases.standings.keep_up import bring_up_to_date
from progress.usecases.standings.work_out import work_out
from tests import makers
from tests.usecases.standings.conftest import row_of, stored_is_a_full_replay

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("up_to_date")]
Meanwhile = Callable[[Callable[[], object]], None]


@pytest.fixture
def meanwhile(monkeypatch: pytest.MonkeyPatch) -> Meanwhile:
    """Do something once, right after the next log was read."""

    def arrange(happens: Callable[[], object]) -> None:
        read = working.read_log

        def read_and_wait(*told: Any, **named: Any) -> Log:
            monkeypatch.setattr(working, "read_log", read)
            log = read(*told, **named)
            happens()
            return log

        monkeypatch.setattr(working, "read_log", read_and_wait)

    return arrange


@pytest.fixture
def miss(ada: Athlete, small_catalogue: dict[str, Skill], today: date) -> Callable[[], None]:
    """Somebody else stores a miss of Ada's."""

    def store() -> None:
        at = makers.moment(today)
        makers.make_attempts(ada, small_catalogue["HANG-1"], ["miss"] * 6, days=[at.date()])
        note_changed(athletes=[ada.pk])

    return store


def test_a_try_stored_after_the_log_was_read_leaves_the_standing_outdated(
    ada: Athlete, today: date, meanwhile: Meanwhile, miss: Callable[[], None]
) -> None:
    note_changed(athletes=[ada.pk])
    meanwhile(miss)

    assert bring_up_to_date(today=today).waiting == 1
    assert bring_up_to_date(today=today).worked_out == 1
    assert row_of(ada)["decision"] != "ready"
    assert stored_is_a_full_replay(today)


def test_the_slower_of_two_does_not_undo_the_newer_answer(
    ada: Athlete, today: date, meanwhile: Meanwhile, miss: Callable[[], None]
) -> None:
    def store_and_mend() -> None:
        miss()
        work_out(athletes=[ada.pk], basis=basis_of(today=today), today=today)

    note_changed(athletes=[ada.pk])
    meanwhile(store_and_mend)

    assert bring_up_to_date(today=today).waiting == 0
    assert row_of(ada)["last_checked"] == today
    assert stored_is_a_full_replay(today)


def test_the_first_answer_ever_is_not_taken_for_new_either(
    ada: Athlete, today: date, meanwhile: Meanwhile, miss: Callable[[], None]
) -> None:
    Standing.objects.all().delete()
    meanwhile(miss)

    assert bring_up_to_date(today=today).waiting == 1
    assert Standing.objects.get(athlete=ada).worked_out is None


def test_an_erased_childs_standing_does_not_come_back(
    ada: Athlete, today: date, meanwhile: Meanwhile
) -> None:
    note_changed(athletes=[ada.pk])
    meanwhile(lambda: Standing.objects.filter(athlete=ada).delete())
    bring_up_to_date(today=today)

    assert not Standing.objects.filter(athlete=ada).exists()
