"""What a check sheet sends, and what it is answered."""

import json
from collections.abc import Callable, Mapping
from typing import Any

from django.test import Client

from progress.models import Attempt

SEND, TOKEN, WORKER = "/classes/monday/checks/send/", "/checks/token/", "/sheet-worker.js"
UID = "0123456789abcdef" * 2
AT = "2026-03-02T11:55:00Z"
ENTRY = {"uid": UID, "athlete": "ada", "skill": "LAND-1", "result": "clean", "at": AT}
Stored = Callable[[], list[Attempt]]
BARE: Mapping[str, Any] = {"variant": None, "supersedes": None, "taken_back": False, "reason": ""}


def entry(**values: Any) -> dict[str, Any]:
    """An entry as the queue sends it."""
    return {**ENTRY, **BARE, **values}


def send(client: Client, *entries: object, path: str = SEND, **said: object) -> Any:
    return post(client, json.dumps({"entries": list(entries), **said}), path)


def post(client: Client, body: str | bytes, path: str = SEND, **headers: str) -> Any:
    return client.post(path, body, content_type="application/json", headers=headers)


def problems(response: Any) -> list[tuple[str, str]]:
    return [(found["uid"], found["what"]) for found in json.loads(response.content)["problems"]]


def uid(number: int) -> str:
    return f"{number:032x}"
