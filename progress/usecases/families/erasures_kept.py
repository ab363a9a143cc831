"""The list of erasures, kept outside the database so that an older backup cannot undo them.

One line of JSON for each erasure: a keyed digest of the child's old code, the day, and the
pseudonym. The code cannot be read back without the site's secret key; and without that key the
list cannot be applied again, so the key belongs with the backups.
"""

import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from django.conf import settings
from django.utils.crypto import salted_hmac

SALT = "progress.erasures"
NEWLINE = b"\n"


@dataclass(frozen=True)
class Erased:
    """One line of the list; ``day`` is the venue's."""

    digest: str
    day: date
    pseudonym: str


def erasures_path() -> Path:
    """Where the list lies: in the data folder, beside the database."""
    return Path(settings.DATA_DIR) / "erasures.jsonl"


def digest_of_code(code: str) -> str:
    """The digest that is written."""
    return salted_hmac(SALT, code, algorithm="sha256").hexdigest()


def digests_of_code(code: str) -> set[str]:
    """Digests to look for: under the key in use and under those it took the place of."""
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return {salted_hmac(SALT, code, secret=k, algorithm="sha256").hexdigest() for k in keys}


def keep_erasure(erased: Erased) -> None:
    """Append a line and wait until it is on the disk. Raises OSError where that cannot be done."""
    line = json.dumps({**asdict(erased), "day": erased.day.isoformat()}).encode() + NEWLINE
    path = erasures_path()
    descriptor = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o600)
    with os.fdopen(descriptor, "r+b", buffering=0) as file:
        length = file.seek(0, os.SEEK_END)
        if length:
            file.seek(length - 1)
            # A line broken off by a power cut must not swallow this one.
            line = line if file.read(1) == NEWLINE else NEWLINE + line
        file.write(line)
        os.fsync(file.fileno())
    _sync_folder(path.parent)


def kept_erasures() -> Iterator[Erased]:
    """Every whole line of the list, oldest first; a line broken off is passed over."""
    path = erasures_path()
    if not path.exists():
        return
    for line in path.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            values = json.loads(line)
            yield Erased(
                str(values["digest"]), date.fromisoformat(values["day"]), str(values["pseudonym"])
            )
        except (ValueError, KeyError, TypeError):
            continue


def _sync_folder(folder: Path) -> None:
    """See to it that a new file's name is on the disk too."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
