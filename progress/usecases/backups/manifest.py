"""The first thing to read in a backup: what it holds, of when, and the sums of its tables."""

import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from progress.usecases.backups.refused import DAMAGED, BackupRefused

NAME = "manifest.json"
FORMAT = "gym progress backup"
FORMAT_VERSION = 1
SUM = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class TableSum:
    """What a table's file holds: its columns in order, rows, and the SHA-256 of its lines."""

    name: str
    columns: tuple[str, ...]
    rows: int
    sha256: str

    @property
    def path(self) -> str:
        """Where the table's lines are in the archive."""
        return path_of(self.name)


@dataclass(frozen=True)
class Manifest:
    """What a backup says of itself. Tables stand in the order in which they are taken in."""

    made_at: datetime
    engine_version: str
    database: str
    migrations: tuple[str, ...]
    tables: tuple[TableSum, ...]

    @property
    def rows(self) -> int:
        """Rows of all tables together."""
        return sum(table.rows for table in self.tables)


def path_of(table_name: str) -> str:
    """Where a table's lines are in the archive."""
    return f"tables/{table_name}.jsonl"


def to_bytes(manifest: Manifest) -> bytes:
    """The manifest as the archive keeps it."""
    told = {"format": FORMAT, "format_version": FORMAT_VERSION, **asdict(manifest)}
    told["made_at"] = manifest.made_at.isoformat()
    return json.dumps(told, indent=1).encode()


def from_bytes(content: bytes) -> Manifest:
    """Read a manifest; BackupRefused says why it is none that can be used here."""
    try:
        told = json.loads(content)
    except ValueError:
        raise BackupRefused([f"{NAME} cannot be read. {DAMAGED}"]) from None
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise BackupRefused(["This is not a backup of this tool. Name a file made by `backup`."])
    if told.get("format_version") != FORMAT_VERSION:
        version = told.get("format_version")
        raise BackupRefused(
            [
                f"The file has format {version!r} and this version of the tool reads format"
                f" {FORMAT_VERSION}. Restore with the version of the tool that made it."
            ]
        )
    try:
        return understood(told)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise BackupRefused([f"{NAME} is incomplete or was changed. {DAMAGED}"]) from None


def understood(told: Mapping[str, Any]) -> Manifest:
    """The parts of a manifest, each of its type; raises where one is not."""
    made_at = datetime.fromisoformat(told["made_at"])
    if made_at.tzinfo is None:
        raise ValueError("made_at has no zone")
    return Manifest(
        made_at=made_at,
        engine_version=word(told["engine_version"]),
        database=word(told["database"]),
        migrations=tuple(map(word, told["migrations"])),
        tables=tuple(table_sum(one) for one in told["tables"]),
    )


def table_sum(told: Mapping[str, Any]) -> TableSum:
    """What is told of one table."""
    rows, sha256 = told["rows"], word(told["sha256"])
    if type(rows) is not int or rows < 0 or not SUM.fullmatch(sha256):
        raise ValueError("rows or sum")
    return TableSum(word(told["name"]), tuple(map(word, told["columns"])), rows, sha256)


def word(told: Any) -> str:
    """A text that is not empty."""
    if not isinstance(told, str) or not told:
        raise TypeError("text expected")
    return told
