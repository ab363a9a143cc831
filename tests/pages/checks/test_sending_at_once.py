"""Twenty coaches save at the same moment, each from two devices: nothing lost, nothing doubled."""

import json
import threading
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import psycopg
import pytest

from tests.pages.checks.conftest import REAL, Hall, fill

COACHES, DEVICES, CHILDREN, SKILLS = 20, 2, 12, 6
SEND, TOKEN = "/classes/monday/checks/send/", "/checks/token/"
# The meeting of yesterday is not there yet, so that all of them open it at once as well.
AT = datetime.now(UTC) - timedelta(days=1)
STORED = "SELECT uid, coach_id, meeting_id FROM progress_attempt"
REGISTER = "SELECT athlete_id, meeting_id, count(*) FROM progress_registerentry GROUP BY 1, 2"


@pytest.fixture
def sqlite_hall(tmp_path: Path) -> Iterator[Hall]:
    """A gym on a database file."""
    fill(tmp_path)
    hall = Hall(tmp_path, REAL)
    hall.start()
    yield hall
    hall.kill()


@pytest.fixture
def postgres_hall(tmp_path: Path, postgres_url: str) -> Iterator[Hall]:
    """A gym on a PostgreSQL database of its own."""
    name = f"gym_at_once_{uuid4().hex[:8]}"
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
    url = urlunsplit(urlsplit(postgres_url)._replace(path=f"/{name}"))
    fill(tmp_path, url)
    hall = PostgresHall(tmp_path, REAL, url)
    hall.start()
    yield hall
    hall.kill()
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


class PostgresHall(Hall):
    """The same, looked into through PostgreSQL."""

    def ask(self, query: str, *values: object) -> list[tuple[object, ...]]:
        with psycopg.connect(self.surroundings["DATABASE_URL"]) as database:
            return database.execute(query, values).fetchall()


class Device:
    """A device of one coach, with a token, ready to send everything at a signal."""

    def __init__(self, hall: Hall, coach: str, entries: list[dict[str, object]]) -> None:
        self.hall, self.coach = hall, coach
        self.body = json.dumps({"entries": entries, "coach": coach})
        self.cookies = f"sessionid={hall.sessions[coach]}"
        self.connection = HTTPConnection("127.0.0.1", hall.port, timeout=120)
        self.connection.request("GET", TOKEN, headers={"Cookie": self.cookies})
        answer = self.connection.getresponse()
        self.token = json.loads(answer.read())["token"]
        self.cookies += "; " + str(answer.headers["Set-Cookie"]).partition(";")[0]
        self.status, self.answer = 0, b""

    def send(self, signal: threading.Barrier) -> None:
        signal.wait()
        headers = {
            "Cookie": self.cookies,
            "X-CSRFToken": self.token,
            "Content-Type": "application/json",
        }
        self.connection.request("POST", SEND, self.body, headers)
        response = self.connection.getresponse()
        self.status, self.answer = response.status, response.read()
        self.connection.close()


def tries(number: int) -> list[dict[str, object]]:
    """A try for every child at every skill, with ids of one coach's own."""
    return [
        {
            "uid": f"{number:04x}{child:04x}{skill:024x}",
            "athlete": f"A{child:02}",
            "skill": f"SKILL-{skill}",
            "result": ("miss", "assisted", "clean")[(number + child + skill) % 3],
            "at": (AT + timedelta(seconds=child * SKILLS + skill)).isoformat(),
        }
        for child in range(CHILDREN)
        for skill in range(SKILLS)
    ]


@pytest.mark.parametrize("database", ["sqlite_hall", "postgres_hall"])
def test_twenty_coaches_with_two_devices_each_all_save_at_once(
    database: str, request: pytest.FixtureRequest
) -> None:
    hall: Hall = request.getfixturevalue(database)
    codes = sorted(code for code in hall.sessions if code not in {"lee", "dee"})
    assert len(codes) == COACHES
    devices = [
        Device(hall, code, tries(number))
        for number, code in enumerate(codes)
        for _ in range(DEVICES)
    ]
    signal = threading.Barrier(len(devices))
    threads = [threading.Thread(target=device.send, args=(signal,)) for device in devices]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    each = CHILDREN * SKILLS
    assert [device.answer for device in devices if device.status != 200] == []
    told = [json.loads(device.answer) for device in devices]
    assert {len(one["stored"]) for one in told} == {each}
    stored = hall.ask(STORED)
    assert len(stored) == len({uid for uid, _, _ in stored}) == COACHES * each
    assert set(Counter(coach for _, coach, _ in stored).values()) == {each}
    assert len({meeting for _, _, meeting in stored}) == 1
    # Of each coach's two devices one stored everything and the other was told so.
    assert sum(one["before"] for one in told) == COACHES * each * (DEVICES - 1)
    assert {count for _, _, count in hall.ask(REGISTER)} == {1}
