"""Whatever the files hold, they are loaded whole or refused whole, and never end in an error."""

import tempfile
from pathlib import Path

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from progress.usecases.folders.problems import FolderRefused
from progress.usecases.load_folder import load_folder
from tests.usecases.folders.samples import NOW, VALID, records, write

pytestmark = pytest.mark.django_db

# What slips of the hand, other programs and bad luck put into a file.
PIECES = [
    *(b"", b",", b";", b"\t", b'"', b"\n", b"\r", b"\0", b"\xeb", b"\xff\xfe", b"\xef\xbb\xbf"),
    *(b"-", b"1e999", b"nan", b"99999999999", b"0,8", b"'=", b" | ", "\u2028".encode()),
    *(b"2026-02-23", b"0001-01-01", b"9999-12-31T23:59:59-23:59", b"2026-W53", b"24:00"),
    *(b"ann", b"land-1", b"low", b"clean", b"hang-2 land-1", b"x" * 300, "猫".encode()),
]


@st.composite
def spoilt_files(draw: st.DrawFn) -> dict[str, str | bytes]:
    """The sample with a few places of each file written over."""
    files: dict[str, str | bytes] = {}
    for name in draw(st.sets(st.sampled_from(sorted(VALID)), min_size=1)):
        data = VALID[name].encode()
        for _ in range(draw(st.integers(0, 3))):
            start = draw(st.integers(0, len(data)))
            length = draw(st.integers(0, 12))
            piece = draw(st.sampled_from(PIECES) | st.binary(max_size=4))
            data = data[:start] + piece + data[start + length :]
        files[name] = data
    return files


def attempted(folder: Path) -> FolderRefused | None:
    """Load a folder; how it was refused, if it was."""
    try:
        load_folder(folder=folder, now=NOW)
    except FolderRefused as refused:
        return refused
    return None


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(files=spoilt_files(), stored=st.booleans())
def test_any_files_are_loaded_or_refused(files: dict[str, str | bytes], stored: bool) -> None:
    with tempfile.TemporaryDirectory() as folder, transaction.atomic():
        if stored:
            load_folder(folder=write(Path(folder) / "stored", VALID), now=NOW)
        before = records()
        refused = attempted(write(Path(folder) / "in", files))
        if refused:
            assert records() == before
            assert all("\n" not in line for line in refused.lines(200))
            assert not any("could not be stored" in problem.what for problem in refused.problems)
        else:
            again = load_folder(folder=Path(folder) / "in", now=NOW)
            assert not any(tally.new or tally.updated for tally in again.files.values())
        connection.check_constraints()
        transaction.set_rollback(True)
