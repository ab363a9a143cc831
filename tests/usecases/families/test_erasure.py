"""Erasing a child: no name anywhere, the log's facts untouched, the family's way in gone."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.contrib.admin.models import CHANGE, LogEntry
from django.contrib.auth.models import User
from django.contrib.contenttypes.models import ContentType
from django.db import connection

from progress.engine.parameters import Parameters
from progress.models import (
    Athlete,
    Attempt,
    Calibration,
    Consent,
    ErasureRequest,
    FamilyLink,
    Guardian,
    Hold,
    MailSent,
    Note,
    PlanChoice,
    SignOff,
    Skill,
    StaffMember,
)
from progress.usecases.calibrate_gym import calibrate_gym, read_parameters
from progress.usecases.families import erasure
from progress.usecases.families.erasure import complete_erasure, preview_erasure
from progress.usecases.families.erasure_requests import ask_for_erasure
from progress.usecases.families.erasures_kept import erasures_path
from tests import makers
from tests.usecases.families.conftest import NOW, everything_about, facts


@pytest.fixture
def asked(full: Athlete, parent: Guardian) -> ErasureRequest:
    return ask_for_erasure(athlete=full, guardian=parent, now=NOW)


@pytest.fixture
def erased(asked: ErasureRequest, lead: StaffMember) -> Athlete:
    return complete_erasure(request=asked, lead=lead, now=NOW)


def test_the_preview_counts_what_goes_and_changes_nothing(asked: ErasureRequest) -> None:
    before = everything_about(asked.athlete)
    seen = preview_erasure(athlete=asked.athlete, today=makers.TODAY)
    assert (seen.guardians_deleted, seen.guardians_kept, seen.links) == (1, 1, 1)
    assert (seen.notes, seen.holds, seen.consents, seen.plan_choices) == (2, 1, 2, 1)
    assert (seen.classes_ended, seen.attempt_words, seen.attempts_kept) == (1, 2, 18)
    assert (seen.register_kept, seen.sign_offs_kept) == (1, 1)
    assert everything_about(asked.athlete) == before


def test_no_name_code_or_word_is_left_in_any_row_of_the_child(erased: Athlete) -> None:
    text = everything_about(erased)
    for word in ("Ada", '"ada"', "ada LAND", "arm", "tired", "Bo", "2018", "injury"):
        assert word not in text, word
    assert erased.code.startswith("erased-")
    assert str(erased) == erased.code


def test_days_are_kept_to_the_month_and_the_child_has_left(
    erased: Athlete, monday_class: makers.models.GymClass
) -> None:
    assert (erased.joined, erased.left) == (date(2025, 9, 1), date(2026, 3, 1))
    assert erased.birth_date is None
    assert erased.erased_at == NOW
    assert erased not in monday_class.athletes_on(makers.TODAY)
    assert not erased.enrolments.filter(until=None).exists()


def test_the_facts_of_the_log_stay_as_they_were(asked: ErasureRequest, lead: StaffMember) -> None:
    before = facts(asked.athlete)
    erased = complete_erasure(request=asked, lead=lead, now=NOW)
    assert facts(erased) == before
    assert set(Attempt.objects.filter(athlete=erased).values_list("note", flat=True)) == {""}
    reasons = Attempt.objects.filter(athlete=erased, supersedes__isnull=False)
    assert [one.reason for one in reasons] == ["erased"]


def test_what_is_learnt_from_the_log_is_the_same_before_and_after(
    asked: ErasureRequest, lead: StaffMember, cy: Athlete, small_catalogue: dict[str, Skill]
) -> None:
    catalogue = Skill.objects.as_catalogue()
    before = read_parameters(calibrate_gym(today=makers.TODAY), catalogue)
    complete_erasure(request=asked, lead=lead, now=NOW)
    Calibration.objects.all().delete()
    after = read_parameters(calibrate_gym(today=makers.TODAY), catalogue)
    assert numbers(before.as_json()) == pytest.approx(numbers(after.as_json()), rel=1e-6, abs=1e-8)
    nothing_learnt = Parameters.before_any_log(catalogue)
    assert not np.allclose(before.difficulty, nothing_learnt.difficulty)


def numbers(values: Any, name: str = "") -> dict[str, float]:
    """Every number of nested values by where it stands."""
    if isinstance(values, dict):
        inner = values.items()
    elif isinstance(values, list):
        inner = enumerate(values)
    else:
        return {name: values}
    found: dict[str, float] = {}
    for key, each in inner:
        found |= numbers(each, f"{name}.{key}")
    return found


def test_what_hung_on_the_child_is_gone(erased: Athlete, bo: Athlete) -> None:
    for model in (Note, PlanChoice, Consent):
        assert not model.objects.filter(athlete=erased).exists()
    assert Hold.objects.get().reason == ""
    sign_off = SignOff.objects.get()
    assert sign_off.sentence == "erased"
    assert sign_off.engine_said == {
        "athlete": erased.code,
        "why": f"{erased.code} holds all gates; adamant.",
        "checks": [f"{erased.code} LAND-1"],
    }


def test_the_reason_for_moving_up_all_the_same_is_emptied_where_there_was_one(
    asked: ErasureRequest, sign_off: SignOff, lead: StaffMember
) -> None:
    makers.make_sign_off(asked.athlete, lead, although="Ada asked for it for weeks.")

    complete_erasure(request=asked, lead=lead, now=NOW)

    assert sorted(SignOff.objects.values_list("although", flat=True)) == ["", "erased"]


def test_a_guardian_of_nobody_else_is_gone_with_account_and_links(
    full: Athlete, parent: Guardian, asked: ErasureRequest, lead: StaffMember
) -> None:
    MailSent.objects.create(guardian=parent, period="2026-02")
    complete_erasure(request=asked, lead=lead, now=NOW)
    assert not Guardian.objects.filter(name="Pat Invented").exists()
    assert not User.objects.filter(username="pat-invented").exists()
    assert not MailSent.objects.exists()
    assert [link.guardian.name for link in FamilyLink.objects.all()] == ["Sam Madeup"]


def test_a_guardian_with_another_child_keeps_that_one_alone(
    erased: Athlete, other_parent: Guardian, bo: Athlete
) -> None:
    assert [right.athlete for right in other_parent.guardianships.all()] == [bo]
    assert other_parent.links.count() == 1


def test_a_coach_who_is_a_guardian_keeps_the_account(
    full: Athlete, coach: StaffMember, lead: StaffMember, asked: ErasureRequest
) -> None:
    kim = makers.make_guardian([full], name="Kim at home", user=coach.user)
    complete_erasure(request=asked, lead=lead, now=NOW)
    assert not Guardian.objects.filter(pk=kim.pk).exists()
    assert User.objects.filter(pk=coach.user_id).exists()


def test_the_request_is_kept_without_a_name(erased: Athlete, lead: StaffMember) -> None:
    kept = ErasureRequest.objects.get()
    assert kept.erased
    assert (kept.asked_by, kept.answered_by, kept.answered_at) == (None, lead, NOW)
    assert str(kept) == f"Erase {erased.code}, asked 02 Mar 2026"


def test_the_admins_own_log_forgets_the_name(
    asked: ErasureRequest, lead: StaffMember, bo: Athlete
) -> None:
    ada, hold = asked.athlete, Hold.objects.get()
    for record in (ada, hold, bo, Guardian.objects.get(name="Pat Invented")):
        LogEntry.objects.create(
            user=lead.user,
            content_type=ContentType.objects.get_for_model(record),
            object_id=str(record.pk),
            object_repr=str(record),
            action_flag=CHANGE,
            change_message=f'[{{"changed": {{"name": "{record}"}}}}]',
        )
    complete_erasure(request=asked, lead=lead, now=NOW)
    told = LogEntry.objects.values_list("object_repr", "change_message")
    assert [line for line in told if line != ("erased", "")] == [
        ("Bo", '[{"changed": {"name": "Bo"}}]')
    ]


def test_it_is_noted_outside_the_database_and_nothing_there_tells_who(
    erased: Athlete, data_dir: Path
) -> None:
    assert erasures_path() == data_dir / "erasures.jsonl"
    [line] = erasures_path().read_text().splitlines()
    written = json.loads(line)
    assert written.keys() == {"digest", "day", "pseudonym"}
    assert (written["day"], written["pseudonym"]) == ("2026-03-02", erased.code)
    assert "ada" not in line.lower()
    assert erasures_path().stat().st_mode & 0o077 == 0


def test_where_the_list_cannot_be_written_nothing_is_erased(
    asked: ErasureRequest, lead: StaffMember, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full_disk(erased: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(erasure, "keep_erasure", full_disk)
    before = everything_about(asked.athlete)
    with pytest.raises(OSError, match="No space"):
        complete_erasure(request=asked, lead=lead, now=NOW)
    assert everything_about(asked.athlete) == before
    assert Guardian.objects.filter(name="Pat Invented").exists()


def test_another_child_is_untouched(
    asked: ErasureRequest, lead: StaffMember, bo: Athlete, other_parent: Guardian
) -> None:
    bos = everything_about(bo)
    complete_erasure(request=asked, lead=lead, now=NOW)
    assert everything_about(bo) == bos


def test_every_constraint_still_holds(erased: Athlete) -> None:
    connection.check_constraints()
    erased.full_clean(exclude=["name"])


@pytest.mark.parametrize(
    ("joined", "left"),
    [(None, None), (date(2026, 3, 20), None), (date(2025, 9, 9), date(2025, 9, 20))],
)
def test_any_days_of_joining_and_leaving_end_in_the_past(
    ada: Athlete, parent: Guardian, lead: StaffMember, joined: date | None, left: date | None
) -> None:
    Athlete.objects.filter(pk=ada.pk).update(joined=joined, left=left)
    request = ask_for_erasure(athlete=ada, guardian=parent, now=NOW)
    erased = complete_erasure(request=request, lead=lead, now=NOW)
    assert erased.left is not None
    assert erased.left <= makers.TODAY
    assert erased.left.day == 1
    assert erased.joined is None or erased.joined.day == 1
