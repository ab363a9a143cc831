"""A full gym in the tests' own database, and empty ones beside it."""

import json
import shutil
import struct
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, time
from pathlib import Path
from zipfile import ZIP_DEFLATED, ZipFile

import pytest
from allauth.account.models import EmailAddress, EmailConfirmation
from allauth.mfa.models import Authenticator
from django.contrib.admin.models import CHANGE, LogEntry
from django.contrib.auth.models import Group, Permission, User
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from pytest_django import DjangoDbBlocker

from progress import models
from progress.usecases.keep_backup import keep_backup
from tests import filled_gym, makers
from tests.usecases.backups.elsewhere import migrate, sqlite_file

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
ODD_TEXT = "Zoë \U0001f938 “quoted” \\ \u2028 \x7f \x01 ' \t\r\n ends"
# The least and the most that a float can be, a zero with a sign, and one no short decimal is.
ODD_FLOATS = (5e-324, 1.7976931348623157e308, -0.0, 0.1 + 0.2, struct.unpack("<d", b"\x01" * 8)[0])


@pytest.fixture
def full_gym(transactional_db: None) -> None:
    """Rows in every table that a backup holds, with odd values, and a session."""
    filled_gym.fill(0, 12)
    fill_accounts()
    fill_many_to_many()
    fill_odd_values()


def fill_accounts() -> None:
    """What the made-up gym has no need of: groups, rights, addresses, factors, the admin's log."""
    user = User.objects.order_by("pk")[0]
    User.objects.filter(pk=user.pk).update(password="md5$salt$digest", last_login=NOON)
    group = Group.objects.create(name="Wednesday desk")
    group.permissions.set(Permission.objects.order_by("pk")[:3])
    user.groups.add(group)
    user.user_permissions.set(Permission.objects.order_by("-pk")[:2])
    address = EmailAddress.objects.create(user=user, email="desk@example.org", primary=True)
    EmailConfirmation.objects.create(email_address=address, key="a-key", sent=NOON)
    Authenticator.objects.create(user=user, type="totp", data={"secret": "ABC", "n": [1, None]})
    kind = ContentType.objects.get_for_model(models.Athlete)
    LogEntry.objects.create(
        user=user, content_type=kind, object_id="1", object_repr=ODD_TEXT, action_flag=CHANGE
    )
    Session.objects.create(session_key="k" * 32, session_data="secret", expire_date=NOON)


def fill_many_to_many() -> None:
    """Coaches and tiers of classes, ladders of holds."""
    coaches = list(models.StaffMember.objects.order_by("pk")[:2])
    for gym_class in models.GymClass.objects.order_by("pk")[:3]:
        gym_class.coaches.set(coaches)
        gym_class.tiers.set(models.Tier.objects.order_by("pk")[:2])
    hold = models.Hold.objects.order_by("pk")[0]
    hold.ladders.set(models.Ladder.objects.order_by("pk")[:2])


def fill_odd_values() -> None:
    """Values that a careless copy would change, and gaps in the numbering."""
    for athlete, day in zip(
        models.Athlete.objects.order_by("pk"), (date.min, date.max, None), strict=False
    ):
        models.Athlete.objects.filter(pk=athlete.pk).update(birth_date=day, name=ODD_TEXT)
    first = models.GymClass.objects.order_by("pk")[0]
    models.GymClass.objects.filter(pk=first.pk).update(starts_at=time(16, 5, 0, 1))
    skill = models.Skill.objects.order_by("pk")[0]
    values = {"b": list(ODD_FLOATS[3:]), "a": {"": None, "ß": [True, 1, 1.0, 2**60, ""]}}
    models.RuleBook.objects.create(
        version=999, values=values, changed_at=datetime(1, 1, 2, 3, 4, 5, 6, tzinfo=UTC)
    )
    station = models.Station.objects.order_by("pk")[0]
    for step, difficulty in enumerate(ODD_FLOATS, start=500):
        code = f"odd-{step}"
        makers.make_variant(station, skill, step=step, code=code, difficulty=difficulty)
    last = models.Note.objects.order_by("-pk")[0]
    models.Note.objects.filter(pk=last.pk).delete()


@pytest.fixture(scope="session")
def empty_file(
    tmp_path_factory: pytest.TempPathFactory,
    django_db_setup: None,
    django_db_blocker: DjangoDbBlocker,
) -> Path:
    """An SQLite file that `migrate` has just made; copy it, never open it."""
    path = tmp_path_factory.mktemp("empty") / "gym.sqlite3"
    with django_db_blocker.unblock(), sqlite_file(path, "just_made") as alias:
        migrate(alias)
    return path


@pytest.fixture
def elsewhere(transactional_db: None, empty_file: Path, tmp_path: Path) -> Iterator[str]:
    """The alias of an empty SQLite database file, ``gym.sqlite3`` in the test's folder."""
    path = tmp_path / "gym.sqlite3"
    shutil.copy(empty_file, path)
    with sqlite_file(path) as alias:
        yield alias


@pytest.fixture
def kept(full_gym: None, tmp_path: Path) -> Path:
    """A backup of the full gym."""
    file = tmp_path / "gym.backup"
    keep_backup(file=file, made_at=NOON)
    return file


@pytest.fixture
def changed(kept: Path) -> Callable[[Callable[[dict[str, bytes]], object]], Path]:
    """Write a copy of the backup after changing what is in it, member by member."""

    def change(alter: Callable[[dict[str, bytes]], object]) -> Path:
        with ZipFile(kept) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
        alter(members)
        file = kept.with_name("changed.backup")
        with ZipFile(file, "w", ZIP_DEFLATED) as archive:
            for name, content in members.items():
                archive.writestr(name, content)
        return file

    return change


def manifest_of(members: dict[str, bytes]) -> dict[str, object]:
    """The manifest among these members, to be changed and put back."""
    told: dict[str, object] = json.loads(members["manifest.json"])
    return told
