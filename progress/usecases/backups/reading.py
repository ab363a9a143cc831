"""Opening a backup and seeing that it is whole, before anything is done with it."""

import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from zipfile import BadZipFile, ZipFile

from progress.usecases.backups.manifest import NAME, Manifest, TableSum, from_bytes
from progress.usecases.backups.refused import DAMAGED, BackupRefused

PIECE = 1 << 16
LONGEST_MANIFEST = 10_000_000
# What zipfile raises for archives that are cut off, altered, locked or packed in unknown ways.
BROKEN = (BadZipFile, zlib.error, EOFError, RuntimeError, NotImplementedError, KeyError)
CHANGED = f"The file changed while it was read. {DAMAGED}"


class Backup:
    """An open backup: its manifest, and the lines of its tables."""

    def __init__(self, archive: ZipFile) -> None:
        self.archive = archive
        self.manifest = self.read_manifest()

    def read_manifest(self) -> Manifest:
        """The manifest; BackupRefused where there is none that can be used."""
        try:
            if self.archive.getinfo(NAME).file_size > LONGEST_MANIFEST:
                raise BackupRefused([f"{NAME} is far too long. {DAMAGED}"])
            return from_bytes(self.archive.read(NAME))
        except BROKEN:
            raise BackupRefused([f"{NAME} is missing or cannot be read. {DAMAGED}"]) from None

    def problems(self) -> list[str]:
        """What does not agree with the manifest: files of the archive, sums, numbers of rows."""
        held = sorted(name for name in self.archive.namelist() if name != NAME)
        told = sorted(table.path for table in self.manifest.tables)
        if held != told:
            return [f"The file does not hold the tables its manifest names. {DAMAGED}"]
        spoilt = [table for table in self.manifest.tables if not self.is_as_told(table)]
        return [
            f"Table {table.name}: its lines are not those that were written. {DAMAGED}"
            for table in spoilt
        ]

    def is_as_told(self, table: TableSum) -> bool:
        """Whether a table's lines have the number and the sum that the manifest names."""
        rows, digest = 0, sha256()
        try:
            with self.archive.open(table.path) as lines:
                while piece := lines.read(PIECE):
                    rows += piece.count(b"\n")
                    digest.update(piece)
        except BROKEN:
            return False
        return (rows, digest.hexdigest()) == (table.rows, table.sha256)

    def lines(self, table: TableSum) -> Iterator[bytes]:
        """The lines of a table one by one."""
        try:
            with self.archive.open(table.path) as lines:
                yield from lines
        except BROKEN as error:
            raise BackupRefused([CHANGED]) from error


@contextmanager
def opened(file: Path) -> Iterator[Backup]:
    """Open a backup. OSError where there is no such file, BackupRefused where it is no backup."""
    with file.open("rb") as content:
        try:
            archive = ZipFile(content)
        except BROKEN:
            raise BackupRefused(
                [f"The file is not a backup, or not a whole one. {DAMAGED}"]
            ) from None
        with archive:
            yield Backup(archive)
