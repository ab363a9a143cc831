"""Writing a file so that its name stands for a whole file or for the one that was there."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from tempfile import mkstemp
from typing import IO


@contextmanager
def whole_file(file: Path, *, replace: bool) -> Iterator[IO[bytes]]:
    """Give a new file that gets its name when all of it is on the disk, readable by its owner.

    Raises FileExistsError if ``file`` is there and ``replace`` is not set, and OSError if it
    cannot be written; then what was there is as before and nothing is left beside it.
    """
    refuse_other_than_a_file(file, replace)
    handle, name = mkstemp(prefix=f".{file.name}.", suffix=".part", dir=file.parent)
    try:
        with os.fdopen(handle, "w+b") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        refuse_other_than_a_file(file, replace)  # it may have come in the meantime
        os.replace(name, file)
    except BaseException:
        with suppress(FileNotFoundError):
            os.unlink(name)
        raise
    flush_folder(file.parent)


def refuse_other_than_a_file(file: Path, replace: bool) -> None:
    """Refuse a name that is taken, by anything but a file in any case."""
    if file.is_dir() or (file.exists() and not file.is_file()):
        raise IsADirectoryError(f"{file} is not a file.")
    if not replace and (file.exists() or file.is_symlink()):
        raise FileExistsError(f"{file} is there already.")


def flush_folder(folder: Path) -> None:
    """Bring the new name to the disk; some file systems cannot, and need not."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
