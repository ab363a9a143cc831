"""The body of a sending, read with suspicion: whatever comes in, each problem names its entry."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from progress.usecases.record_checks import MOST_ENTRIES, Entry

UID = re.compile(r"[0-9a-f]{32}")
LONGEST_TEXT = 200
# Control characters and halves of characters: a database may choke on them.
NOT_TEXT = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")

REQUIRED = ("uid", "athlete", "skill", "result", "at")
OPTIONAL: Mapping[str, Any] = {
    "variant": None,
    "supersedes": None,
    "taken_back": False,
    "reason": "",
}


@dataclass(frozen=True)
class Sending:
    """The entries of a sending, and the code of the coach they say they were made by, if any."""

    entries: tuple[Entry, ...]
    coach: str | None


class NotUnderstood(ValueError):
    """A body that is not a sending: 400 as a whole, 422 where single entries are wrong."""

    def __init__(self, problems: list[dict[str, str]], status: int) -> None:
        self.problems = problems
        self.status = status
        super().__init__("; ".join(problem["what"] for problem in problems[:5]))


def read_sending(body: bytes) -> Sending:
    """Read ``{"entries": [...], "coach": code}``; the coach may be left out.

    Raises NotUnderstood with everything that is wrong.
    """
    try:
        said = json.loads(body)
    except (ValueError, RecursionError):
        raise _whole("This is not JSON.") from None
    if not isinstance(said, dict) or not {"entries"} <= set(said) <= {"entries", "coach"}:
        raise _whole('Send {"entries": [...]} and nothing else.')
    entries, coach = said["entries"], said.get("coach")
    if not isinstance(entries, list) or not (coach is None or isinstance(coach, str)):
        raise _whole('"entries" must be a list and "coach" a code.')
    if len(entries) > MOST_ENTRIES:
        raise _whole(f"{len(entries)} entries at once; send at most {MOST_ENTRIES}.", 422)
    problems = [
        {"uid": _uid_of(entry), "what": f"Entry {number}: {what}"}
        for number, entry in enumerate(entries, start=1)
        for what in _wrong(entry)
    ]
    if problems:
        raise NotUnderstood(problems, 422)
    return Sending(tuple(_entry(entry) for entry in entries), coach)


def _whole(what: str, status: int = 400) -> NotUnderstood:
    return NotUnderstood([{"uid": "", "what": what}], status)


def _uid_of(entry: object) -> str:
    """The uid to name a problem by; empty where there is none to speak of."""
    uid = entry.get("uid") if isinstance(entry, dict) else None
    return uid if isinstance(uid, str) and UID.fullmatch(uid) else ""


def _wrong(entry: object) -> list[str]:
    """What is wrong with the form of one entry, before anything is looked up."""
    if not isinstance(entry, dict):
        return ["it is not an object"]
    wrong = [f"{key!r} is missing" for key in REQUIRED if key not in entry]
    unknown = sorted(set(entry) - {*REQUIRED, *OPTIONAL})
    wrong += [f"{key[:30]!r} is not known here" for key in unknown]
    for key in ("athlete", "skill", "result", "at", "variant", "supersedes", "reason"):
        value = entry.get(key, OPTIONAL.get(key, ""))
        if value is None and key in ("variant", "supersedes"):
            continue
        if not isinstance(value, str) or len(value) > LONGEST_TEXT or NOT_TEXT.search(value):
            wrong.append(f"{key!r} must be plain text of at most {LONGEST_TEXT} characters")
    if not isinstance(entry.get("taken_back", False), bool):
        wrong.append("'taken_back' must be true or false")
    if "uid" in entry and not _uid_of(entry):
        wrong.append("'uid' must be 32 digits and letters from a to f")
    if isinstance(entry.get("at"), str) and _moment(entry["at"]) is None:
        wrong.append("'at' must be a time with its zone, such as 2026-03-02T16:30:00Z")
    return wrong


def _moment(said: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(said)
    except ValueError:
        return None
    return at if at.tzinfo is not None else None


def _entry(said: Mapping[str, Any]) -> Entry:
    facts = {**OPTIONAL, **said, "at": _moment(said["at"])}
    facts["variant"] = facts["variant"] or None
    facts["supersedes"] = facts["supersedes"] or None
    return Entry(**facts)
