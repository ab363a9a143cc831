"""What is not taken in, and that nothing is changed then; what is not written over."""

import json
import resource
from collections.abc import Callable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any
from zipfile import ZipFile

import pytest
from django.db import IntegrityError, connections
from django.db.migrations.recorder import MigrationRecorder

from progress.models import Area, Attempt
from progress.usecases.backups.refused import BackupRefused
from progress.usecases.backups.restore import NotAgreed, restore_backup
from progress.usecases.keep_backup import keep_backup
from tests import makers
from tests.usecases.backups.conftest import NOON, manifest_of
from tests.usecases.backups.elsewhere import rows_of

Members = dict[str, bytes]
Changed = Callable[[Callable[[Members], object]], Path]
LADDERS = "tables/progress_ladder.jsonl"


@pytest.fixture(autouse=True)
def nothing_changes(elsewhere: str) -> Iterator[None]:
    """In every test here the other database is in the end as it was."""
    makers_of_one_row(elsewhere)
    before = rows_of(elsewhere, sessions=True)
    yield
    assert rows_of(elsewhere, sessions=True) == before


def makers_of_one_row(alias: str) -> None:
    Area.objects.using(alias).create(code="here-before", name="Here before")


def refusal(file: Path, using: str) -> str:
    """Why a file is not taken in, though everything there may be replaced."""
    with pytest.raises(BackupRefused) as refused:
        restore_backup(file=file, replace=True, using=using)
    return "\n".join(refused.value.problems)


def rewrite(members: Members, table: str, alter: Callable[[list[Any]], object]) -> None:
    """Alter the rows of a table and let the manifest agree, as a careful forger would."""
    path = f"tables/{table}.jsonl"
    rows = [json.loads(line) for line in members[path].splitlines()]
    alter(rows)
    members[path] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)
    told: Any = manifest_of(members)
    [one] = [one for one in told["tables"] if one["name"] == table]
    one["rows"], one["sha256"] = len(rows), sha256(members[path]).hexdigest()
    members["manifest.json"] = json.dumps(told).encode()


def told_otherwise(word: str, value: object) -> Callable[[Members], object]:
    """A manifest that says something else."""

    def alter(members: Members) -> None:
        members["manifest.json"] = json.dumps(manifest_of(members) | {word: value}).encode()

    return alter


class TestDamagedFiles:
    @pytest.mark.parametrize("part", [0.0, 0.3, 0.9, 0.999])
    def test_a_file_that_was_cut_off(self, kept: Path, elsewhere: str, part: float) -> None:
        content = kept.read_bytes()
        kept.write_bytes(content[: int(len(content) * part)])
        assert "not a whole one. Take another copy" in refusal(kept, elsewhere)

    def test_one_byte_that_was_altered_in_any_table(self, kept: Path, elsewhere: str) -> None:
        content = kept.read_bytes()
        with ZipFile(kept) as archive:
            members = [one for one in archive.infolist() if one.file_size]
        assert len(members) > 40
        for member in members:
            spoilt = bytearray(content)
            header = 30 + len(member.filename) + 20  # of a member, with the size in 64 bits
            spoilt[member.header_offset + header + member.compress_size // 2] ^= 0xFF
            kept.write_bytes(spoilt)
            assert "Take another copy" in refusal(kept, elsewhere)

    def test_a_line_that_was_altered(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            members[LADDERS] = members[LADDERS].replace(b"Name 3", b"Name 4")

        said = refusal(changed(alter), elsewhere)
        assert "Table progress_ladder: its lines are not those that were written." in said

    def test_a_line_that_is_missing(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            members[LADDERS] = members[LADDERS].split(b"\n", 1)[1]

        assert "Table progress_ladder:" in refusal(changed(alter), elsewhere)

    def test_every_spoilt_table_is_named(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            members[LADDERS] = members["tables/progress_tier.jsonl"] = b""

        said = refusal(changed(alter), elsewhere)
        assert "progress_ladder" in said
        assert "progress_tier" in said

    def test_a_table_too_few_and_a_file_too_many(self, changed: Changed, elsewhere: str) -> None:
        said = "does not hold the tables its manifest names"
        assert said in refusal(changed(lambda members: members.pop(LADDERS)), elsewhere)
        assert said in refusal(changed(lambda members: members.update(x=b"")), elsewhere)

    def test_no_manifest_or_half_of_one(self, changed: Changed, elsewhere: str) -> None:
        none = changed(lambda members: members.pop("manifest.json"))
        assert "manifest.json is missing" in refusal(none, elsewhere)
        half = changed(lambda members: members.update({"manifest.json": b'{"format":'}))
        assert "manifest.json cannot be read" in refusal(half, elsewhere)
        for word in ("made_at", "tables", "migrations"):
            odd = changed(told_otherwise(word, 7))
            assert "manifest.json is incomplete or was changed" in refusal(odd, elsewhere)

    def test_something_else_altogether(self, tmp_path: Path, elsewhere: str) -> None:
        (tmp_path / "x").write_text("not a backup")
        assert "not a backup" in refusal(tmp_path / "x", elsewhere)
        with pytest.raises(FileNotFoundError):
            restore_backup(file=tmp_path / "nowhere", using=elsewhere)


class TestOtherVersions:
    def test_another_format(self, changed: Changed, elsewhere: str) -> None:
        said = refusal(changed(told_otherwise("format_version", 2)), elsewhere)
        assert "format 2" in said
        assert "Restore with the version of the tool that made it." in said
        assert "not a backup of this tool" in refusal(
            changed(told_otherwise("format", "x")), elsewhere
        )

    def test_a_newer_tool(self, kept: Path, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            told: Any = manifest_of(members)
            told["migrations"].append("progress.9999_later")
            members["manifest.json"] = json.dumps(told).encode()

        said = refusal(changed(alter), elsewhere)
        assert "this database lacks: progress.9999_later. Run `manage.py migrate`" in said

    def test_an_older_tool(self, kept: Path, elsewhere: str) -> None:
        MigrationRecorder(connections[elsewhere]).record_applied("progress", "9999_later")
        said = refusal(kept, elsewhere)
        assert "the backup lacks: progress.9999_later" in said
        assert "with the version of the tool that made the backup" in said

    def test_other_columns(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            told: Any = manifest_of(members)
            told["tables"][-1]["columns"].append("more")
            members["manifest.json"] = json.dumps(told).encode()

        assert "tables are not those of this version" in refusal(changed(alter), elsewhere)

    def test_a_backup_is_not_made_before_migrating(self, tmp_path: Path, elsewhere: str) -> None:
        last = MigrationRecorder.Migration.objects.using(elsewhere).filter(app="progress")
        last.order_by("-pk")[0].delete()
        with pytest.raises(BackupRefused, match="is not up to date"):
            keep_backup(file=tmp_path / "file", made_at=NOON, using=elsewhere)


class TestRowsThatDoNotFit:
    """The sums agree here, so it is noticed in the middle of the restore, which is undone."""

    @pytest.mark.parametrize(
        ("column", "value", "said"),
        [
            (0, "one", "column id: is not a whole number"),
            (0, True, "column id: is not a whole number"),
            (1, 5, "column code: is not a text"),
            (1, None, "refused by the database: NOT NULL"),
            (3, -1, "refused by the database: CHECK"),
        ],
    )
    def test_a_cell_of_another_kind(
        self, changed: Changed, elsewhere: str, column: int, value: object, said: str
    ) -> None:
        def alter(members: Members) -> None:
            rewrite(members, "progress_ladder", lambda rows: rows[4].__setitem__(column, value))

        told = refusal(changed(alter), elsewhere)
        assert "Table progress_ladder, line 5" in told
        assert said in told

    def test_a_row_with_too_few_cells(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            rewrite(members, "progress_tier", lambda rows: rows[0].pop())

        assert "progress_tier, line 1: is not a row of 4" in refusal(changed(alter), elsewhere)

    def test_a_row_that_is_there_twice(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            rewrite(members, "progress_ladder", lambda rows: rows.append(rows[2]))

        assert ": refused by the database" in refusal(changed(alter), elsewhere)

    def test_a_row_that_points_to_none(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            rewrite(members, "progress_athlete", lambda rows: rows.pop(0))

        assert "do not fit each other" in refusal(changed(alter), elsewhere)


class TestWhatIsInTheWay:
    def test_rows_that_nobody_said_may_go(self, kept: Path, elsewhere: str) -> None:
        with pytest.raises(BackupRefused, match="not empty: progress_area"):
            restore_backup(file=kept, using=elsewhere)

    def test_nobody_agrees(self, kept: Path, elsewhere: str) -> None:
        asked = []
        with pytest.raises(NotAgreed):
            restore_backup(
                file=kept,
                replace=True,
                using=elsewhere,
                agreed=lambda manifest, deleted: bool(asked.append(deleted)),
            )
        assert asked == [{"progress_area": 1}]

    def test_a_row_that_comes_between_the_look_and_the_lock(
        self, kept: Path, elsewhere: str
    ) -> None:
        Area.objects.using(elsewhere).all().delete()

        def agreed(manifest: object, deleted: object) -> bool:
            makers_of_one_row(elsewhere)
            Area.objects.using(elsewhere).update(id=1)
            return True

        with pytest.raises(BackupRefused, match="Stop the site"):
            restore_backup(file=kept, using=elsewhere, agreed=agreed)

    def test_triggers_stand_after_a_refusal(self, changed: Changed, elsewhere: str) -> None:
        def alter(members: Members) -> None:
            rewrite(members, "progress_attempt", lambda rows: rows.append(rows[0]))

        refusal(changed(alter), elsewhere)
        makers.make_attempt(makers.make_athlete(), makers.make_skill())
        with (
            pytest.raises(IntegrityError, match="never changed"),
            connections["default"].cursor() as cursor,
        ):
            cursor.execute("UPDATE progress_attempt SET uid = uid")
        assert Attempt.objects.exists()


def test_a_disk_that_fills_up_in_the_middle(kept: Path, elsewhere: str) -> None:
    """The system refuses to let any file grow; the database says so and takes all of it back."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, hard))
    try:
        said = refusal(kept, elsewhere)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert "The database cannot be written" in said
    assert "see that the disk has room" in said
