"""A backup brings every row of every table back, to the bit, from any database to any."""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from zipfile import ZipFile

import pytest
from django.contrib.sessions.models import Session
from django.db import IntegrityError, connection, connections
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from progress.models import Attempt, Ladder, Note, Setup, Skill
from progress.usecases.backups.restore import restore_backup
from progress.usecases.backups.tables import lines_of, tables
from progress.usecases.keep_backup import keep_backup
from tests import makers
from tests.usecases.backups.conftest import NOON
from tests.usecases.backups.elsewhere import new_postgres, rows_of

# PostgreSQL keeps no null character in a text, and no database a half of a surrogate pair.
TEXTS = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=120)
FLOATS = st.floats(allow_nan=False, allow_infinity=False)


def test_every_table_of_the_full_gym_has_rows(full_gym: None) -> None:
    """Otherwise the comparisons here would say less than they seem to."""
    assert [table for table, rows in rows_of(sessions=True).items() if not rows] == []


def test_every_row_of_every_table_comes_back(kept: Path, elsewhere: str) -> None:
    restore_backup(file=kept, using=elsewhere)
    assert rows_of(elsewhere) == rows_of()


def test_what_is_restored_gives_the_same_lines_again(
    kept: Path, elsewhere: str, tmp_path: Path
) -> None:
    """Sums agree down to the text of JSON columns, where the same kind of database is used."""
    first = restore_backup(file=kept, using=elsewhere)
    again = keep_backup(file=tmp_path / "again", made_at=NOON, using=elsewhere)
    if connection.vendor == "sqlite":
        assert again == first
    assert [one.rows for one in again.tables] == [one.rows for one in first.tables]


def test_the_same_records_give_the_same_file(kept: Path, tmp_path: Path) -> None:
    keep_backup(file=tmp_path / "again", made_at=NOON)
    assert (tmp_path / "again").read_bytes() == kept.read_bytes()


def test_a_full_database_is_replaced_and_sessions_end(kept: Path) -> None:
    before = rows_of()
    correction = Attempt.objects.exclude(supersedes=None).order_by("pk")[0]
    makers.make_attempt(correction.athlete, correction.skill, "miss")
    Ladder.objects.filter(pk=Ladder.objects.order_by("pk")[0].pk).update(name="Changed since")
    Note.objects.all().delete()
    restore_backup(file=kept, replace=True)
    assert rows_of() == before
    assert not Session.objects.exists()


def test_sessions_are_not_in_the_file(kept: Path) -> None:
    with ZipFile(kept) as archive:
        names = archive.namelist()
        assert not any("session" in name for name in names)
        assert all(b"kkkkkkkk" not in archive.read(name) for name in names)


def test_the_manifest_tells_what_is_in_the_file(kept: Path) -> None:
    with ZipFile(kept) as archive:
        told = json.loads(archive.read("manifest.json"))
    assert told["format_version"] == 1
    assert told["made_at"] == "2026-03-02T12:00:00+00:00"
    assert "progress.0002_attempts_are_never_changed" in told["migrations"]
    rows = {table["name"]: table["rows"] for table in told["tables"]}
    assert rows == {name: len(held) for name, held in rows_of().items()}


def test_tables_stand_after_those_they_point_to() -> None:
    order = [table.name for table in tables()]
    for first, then in (
        ("progress_tier", "progress_athlete"),
        ("progress_athlete", "progress_attempt"),
        ("progress_hold", "progress_hold_ladders"),
        ("auth_user", "mfa_authenticator"),
        ("django_content_type", "auth_permission"),
    ):
        assert order.index(first) < order.index(then)


def test_attempts_are_guarded_after_a_restore_as_before(kept: Path, elsewhere: str) -> None:
    restore_backup(file=kept, using=elsewhere)
    with (
        pytest.raises(IntegrityError, match="never changed"),
        connections[elsewhere].cursor() as cursor,
    ):
        cursor.execute("UPDATE progress_attempt SET result = 'clean'")


def test_new_rows_count_on_from_the_restored_ones(kept: Path) -> None:
    restore_backup(file=kept, replace=True)
    last = Ladder.objects.order_by("-pk")[0].pk
    assert makers.make_ladder("new").pk > last


@pytest.fixture
def two_places(elsewhere: str, tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """An empty database that may be filled again and again, and a file."""
    return (elsewhere, tmp_path / "odd.backup")


@settings(
    max_examples=15,
    deadline=timedelta(seconds=20),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(texts=st.lists(TEXTS, min_size=1, max_size=8), numbers=st.lists(FLOATS, max_size=8))
def test_any_text_and_any_number_comes_back(
    two_places: tuple[str, Path], texts: list[str], numbers: list[float]
) -> None:
    elsewhere, file = two_places
    Setup.objects.all().delete()
    Skill.objects.all().delete()
    for at, text in enumerate(texts):
        makers.make_skill(f"odd-{at}", caution=text, name=text[:40])
    station = makers.make_station(makers.make_setup())
    for at, number in enumerate(numbers):
        makers.make_variant(station, makers.make_skill(f"n-{at}"), step=at, difficulty=number)
    keep_backup(file=file, made_at=NOON, replace=True)
    restore_backup(file=file, using=elsewhere, replace=True)
    assert rows_of(elsewhere) == rows_of()


def test_json_keeps_its_text_its_order_and_its_nulls(elsewhere: str) -> None:
    """``1e16`` and ``-0.0`` would be changed by being loaded into PostgreSQL; here they stay."""
    text = '{"b": 1e16, "a": -0.0, "c": null, "a2": "\\u00df"}'
    insert = (
        "INSERT INTO progress_rulebook (id, version, values_, changed_at, why)"
        " VALUES (1, 1, %s, '2026-03-02', '')"
    ).replace("values_", '"values"')
    with connections[elsewhere].cursor() as cursor:
        cursor.execute(insert, [text])
    [book] = [table for table in tables() if table.name == "progress_rulebook"]
    [line] = lines_of(book, elsewhere)
    assert text in json.loads(line)


def test_sqlite_to_postgresql_and_back(
    kept: Path, elsewhere: str, tmp_path: Path, postgres_url: str
) -> None:
    """The way a gym takes that outgrows one file, and the way back; numbering goes on there."""
    before = rows_of()
    with new_postgres(postgres_url) as postgres:
        restore_backup(file=kept, using=postgres)
        assert rows_of(postgres) == before
        back = tmp_path / "back.backup"
        keep_backup(file=back, made_at=NOON, using=postgres)
        last = Ladder.objects.using(postgres).order_by("-pk")[0].pk
        assert Ladder.objects.using(postgres).create(code="new", name="New").pk == last + 1
        restore_backup(file=back, using=postgres, replace=True)
        assert rows_of(postgres) == before
    restore_backup(file=back, using=elsewhere)
    assert rows_of(elsewhere) == before
