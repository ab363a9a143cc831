"""``manage.py reapply_erasures``: an older backup does not bring an erased child back."""

from datetime import datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command
from pytest_django import Settings

from progress.models import Athlete, Guardian, Note, Skill, StaffMember
from progress.usecases.families.erasure import complete_erasure
from progress.usecases.families.erasure_requests import ask_for_erasure
from progress.usecases.families.erasures_kept import erasures_path, kept_erasures
from tests import makers

NOW = makers.moment(hour=12)


@pytest.fixture(autouse=True)
def _data_folder(tmp_path: Path, settings: Settings, stopped_clock: datetime) -> None:
    settings.DATA_DIR = tmp_path


def run() -> str:
    out = StringIO()
    call_command("reapply_erasures", stdout=out)
    return out.getvalue()


def erase(ada: Athlete, guardian: Guardian, lead: StaffMember) -> Athlete:
    request = ask_for_erasure(athlete=ada, guardian=guardian, now=NOW)
    return complete_erasure(request=request, lead=lead, now=NOW)


def put_back(erased: Athlete) -> None:
    """The records as an older backup has them: the child by name, with a guardian and a note."""
    Athlete.objects.filter(pk=erased.pk).update(
        code="ada", name="Ada", erased_at=None, joined=makers.JOINED, left=None
    )
    erased.refresh_from_db()
    makers.make_guardian([erased], name="Restored", with_user=False)
    Note.objects.create(athlete=erased, text="Ada again")


def test_a_restored_child_is_erased_again_under_the_same_pseudonym(
    ada: Athlete, guardian: Guardian, lead: StaffMember
) -> None:
    erased = erase(ada, guardian, lead)
    pseudonym = erased.code
    put_back(erased)

    assert run().startswith("1 on the list, 1 erased again, 0 not among")

    erased.refresh_from_db()
    assert (erased.code, erased.name) == (pseudonym, "")
    assert not Note.objects.exists()
    assert not Guardian.objects.filter(name="Restored").exists()


def test_running_it_again_changes_nothing(
    ada: Athlete, guardian: Guardian, lead: StaffMember
) -> None:
    put_back(erase(ada, guardian, lead))
    run()
    rows = list(Athlete.objects.values())
    listed = erasures_path().read_bytes()

    assert run().startswith("1 on the list, 0 erased again, 1 not among")

    assert list(Athlete.objects.values()) == rows
    assert erasures_path().read_bytes() == listed


def test_a_new_child_with_an_old_code_is_left_alone_and_named(
    ada: Athlete, guardian: Guardian, lead: StaffMember, small_catalogue: dict[str, Skill]
) -> None:
    erase(ada, guardian, lead)
    later = makers.TODAY + timedelta(days=30)
    fresh = makers.make_athlete("ada", name="Ada the second", joined=later)
    makers.make_attempt(fresh, small_catalogue["LAND-1"], at=later)

    told = run()

    assert "ada: left alone" in told
    fresh.refresh_from_db()
    assert fresh.name == "Ada the second"


def test_a_changed_key_still_finds_them_while_the_old_one_is_kept_as_fallback(
    ada: Athlete, guardian: Guardian, lead: StaffMember, settings: Settings
) -> None:
    erased = erase(ada, guardian, lead)
    put_back(erased)
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another", [settings.SECRET_KEY]

    assert "1 erased again" in run()


def test_without_a_list_it_says_where_it_looked(ada: Athlete, tmp_path: Path) -> None:
    assert str(tmp_path) in run()


def test_a_line_broken_off_neither_stops_it_nor_swallows_the_next(
    ada: Athlete, bo: Athlete, guardian: Guardian, lead: StaffMember
) -> None:
    erasures_path().write_bytes(b'{"digest": "12')
    erased = erase(ada, guardian, lead)
    makers.make_guardian([bo], name="Of Bo")
    erase(bo, Guardian.objects.get(name="Of Bo"), lead)

    first, _ = kept_erasures()
    assert first.pseudonym == erased.code
