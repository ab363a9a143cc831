"""A child with some of everything, for what is read out and what is erased."""

import json
from datetime import timedelta
from pathlib import Path

import pytest
from pytest_django import Settings

from progress.models import (
    Athlete,
    Attempt,
    Guardian,
    GymClass,
    Note,
    PlanChoice,
    SignOff,
    Skill,
    StaffMember,
)
from progress.usecases.families.consents import give_consent
from progress.usecases.families.links import make_link
from tests import makers

NOW = makers.moment(hour=12)


@pytest.fixture(autouse=True)
def data_dir(tmp_path: Path, settings: Settings) -> Path:
    """A data folder for this test alone."""
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def parent(ada: Athlete) -> Guardian:
    """Pat Invented, Ada's guardian, with an address."""
    return makers.make_guardian([ada], name="Pat Invented", email="pat@example.org")


@pytest.fixture
def other_parent(ada: Athlete, bo: Athlete) -> Guardian:
    """Sam Madeup, guardian of Ada and of Bo."""
    return makers.make_guardian([ada, bo], name="Sam Madeup", email="sam@example.org")


@pytest.fixture
def sign_off(ada: Athlete, lead: StaffMember) -> SignOff:
    """A snapshot that names the child by code and by name."""
    said = {"athlete": "ada", "why": "Ada holds all gates; adamant.", "checks": ["ada LAND-1"]}
    return makers.make_sign_off(ada, lead, sentence="Ada is steady.", engine_said=said)


@pytest.fixture
def full(
    ada: Athlete,
    parent: Guardian,
    other_parent: Guardian,
    monday_class: GymClass,
    small_catalogue: dict[str, Skill],
    floor: object,
    sign_off: SignOff,
    coach: StaffMember,
) -> Athlete:
    """Ada with notes, holds, a correction, a plan choice, consents, links and a register."""
    meeting = makers.make_meeting(monday_class, present=[ada])
    wrong = makers.make_attempt(
        ada, small_catalogue["HANG-1"], "miss", note="Ada was tired", meeting=meeting
    )
    makers.make_correction(wrong, "clean", reason="That was Bo, not Ada.")
    makers.make_hold(ada, starts=makers.TODAY - timedelta(days=90), reason="Ada's arm")
    Note.objects.create(athlete=ada, text="=Well done Ada", for_family=True, written_at=NOW)
    Note.objects.create(athlete=ada, text="Watch Ada with Bo", written_at=NOW)
    loop = makers.models.Loop.objects.get()
    PlanChoice.objects.create(
        gym_class=monday_class, day=makers.TODAY, athlete=ada, loop=loop, reason="Ada asked"
    )
    for guardian in (parent, other_parent):
        give_consent(guardian=guardian, athlete=ada, kind="mail", version=1, now=NOW)
        make_link(guardian=guardian, staff=coach, now=NOW)
    return ada


def everything_about(athlete: Athlete) -> str:
    """Every row of the app that points at this child, as text."""
    found = [Athlete.objects.filter(pk=athlete.pk).values()]
    for relation in athlete._meta.related_objects:
        rows = relation.field.model._base_manager.filter(**{relation.field.name: athlete.pk})
        found.append(rows.values())
    return json.dumps([list(rows) for rows in found], default=str)


def facts(athlete: Athlete) -> list[tuple[object, ...]]:
    """What an attempt says, without whose it is by name."""
    rows = Attempt.objects.filter(athlete=athlete).order_by("pk")
    return list(
        rows.values_list("pk", "uid", "skill", "at", "result", "coach", "supersedes", "taken_back")
    )
