"""The file of a backup: whole or not there, its owner's alone, never written over by chance."""

import errno
import os
import resource
import stat
from pathlib import Path

import pytest

from progress.models import Ladder
from progress.usecases.keep_backup import keep_backup
from tests.usecases.backups.conftest import NOON


class TestTheFile:
    def test_it_is_readable_by_its_owner_alone(self, kept: Path) -> None:
        assert stat.S_IMODE(kept.stat().st_mode) == 0o600

    def test_it_is_not_written_over_unless_told(self, kept: Path) -> None:
        before = kept.read_bytes()
        Ladder.objects.create(code="new", name="New")
        with pytest.raises(FileExistsError):
            keep_backup(file=kept, made_at=NOON)
        assert kept.read_bytes() == before
        kept.chmod(0o644)
        keep_backup(file=kept, made_at=NOON, replace=True)
        assert kept.read_bytes() != before
        assert stat.S_IMODE(kept.stat().st_mode) == 0o600

    def test_a_folder_is_never_replaced(self, elsewhere: str, tmp_path: Path) -> None:
        with pytest.raises(IsADirectoryError):
            keep_backup(file=tmp_path, made_at=NOON, replace=True, using=elsewhere)

    def test_a_full_disk_leaves_the_old_file(
        self, kept: Path, elsewhere: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Noticed late, when the bytes are forced to the disk."""
        before = kept.read_bytes()

        def full(handle: int) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space"):
            keep_backup(file=kept, made_at=NOON, replace=True)
        assert_as_before(kept, before)

    @pytest.mark.parametrize("share", [0.05, 0.5])
    def test_a_write_that_fails_leaves_the_old_file(
        self, kept: Path, elsewhere: str, share: float
    ) -> None:
        """The system itself refuses to make any file longer than this share of a backup."""
        before = kept.read_bytes()
        most = int(len(before) * share)
        soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, hard))
        try:
            with pytest.raises(OSError, match=r"large|copy of the database"):
                keep_backup(file=kept, made_at=NOON, replace=True)
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert_as_before(kept, before)


def assert_as_before(kept: Path, before: bytes) -> None:
    """The file is as it was, and nothing half-written lies beside it."""
    assert kept.read_bytes() == before
    assert [path.name for path in kept.parent.iterdir() if path.name.startswith(".")] == []
