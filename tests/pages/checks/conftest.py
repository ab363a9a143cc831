"""A gym in a process of its own, and phones to open its check sheet with."""

import json
import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, expect

from progress.models import Athlete, Attempt
from tests.source import ROOT

HALL = [sys.executable, "-m", "tests.pages.checks.hall"]
# How long a page may take to say something on a busy machine; it goes on as soon as it does.
expect.set_options(timeout=45_000)
BARE, REAL = "tests.pages.checks.hall_urls", "gymsite.urls"


def surroundings(folder: Path, urls: str = REAL, database: str = "") -> dict[str, str]:
    """The environment of a gym that keeps its things in ``folder``."""
    database = database or f"sqlite:///{folder / 'gym.sqlite3'}"
    return {**os.environ, "HALL_FOLDER": str(folder), "HALL_URLS": urls, "DATABASE_URL": database}


class Hall:
    """A gym on a database file of its own; it may be killed and started again at any time."""

    def __init__(self, folder: Path, urls: str, database: str = "") -> None:
        self.folder = folder
        self.surroundings = surroundings(folder, urls, database)
        self.sessions: dict[str, str] = json.loads((folder / "sessions.json").read_text())
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.url = f"http://127.0.0.1:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Serve, and wait until it answers."""
        self.process = subprocess.Popen(
            [*HALL, "serve", str(self.port)], cwd=ROOT, env=self.surroundings
        )
        end = time.monotonic() + 60
        while time.monotonic() < end:
            with socket.socket() as knock:
                if knock.connect_ex(("127.0.0.1", self.port)) == 0:
                    return
            assert self.process.poll() is None, "the gym did not start"
            time.sleep(0.05)
        pytest.fail("the gym did not answer")

    def kill(self) -> None:
        """Gone at once, whatever it was doing."""
        if self.process is not None:
            self.process.kill()
            self.process.wait()

    def died(self) -> int:
        """Wait until it was struck down; answers its exit code."""
        assert self.process is not None
        return self.process.wait(timeout=60)

    def die(self, moment: str) -> None:
        """Have it struck down in the next sending, ``before-commit`` or ``before-answer``."""
        (self.folder / moment).touch()

    def ask(self, query: str, *values: object) -> list[tuple[object, ...]]:
        """Look into the database from outside."""
        with sqlite3.connect(self.folder / "gym.sqlite3", timeout=20) as database:
            return database.execute(query, values).fetchall()

    def stored(self) -> list[tuple[object, ...]]:
        """Every attempt as athlete, skill, result, coach."""
        return self.ask(
            "SELECT a.code, s.code, t.result, c.code FROM progress_attempt t"
            " JOIN progress_athlete a ON a.id = t.athlete_id"
            " JOIN progress_skill s ON s.id = t.skill_id"
            " JOIN progress_staffmember c ON c.id = t.coach_id ORDER BY t.id"
        )

    def end_session(self, coach: str) -> None:
        """As after twelve hours."""
        self.ask("DELETE FROM django_session WHERE session_key = ?", self.sessions[coach])


def fill(folder: Path, database: str = "") -> None:
    """Make the records, in the folder's own database file unless told another one."""
    made = subprocess.run(
        [*HALL, "fill"],
        cwd=ROOT,
        env=surroundings(folder, database=database),
        check=True,
        stdout=subprocess.PIPE,
    )
    (folder / "sessions.json").write_bytes(made.stdout)


@pytest.fixture(scope="session")
def filled_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the database as each gym starts with it, made once."""
    folder = tmp_path_factory.mktemp("hall")
    fill(folder)
    return folder


@pytest.fixture
def open_hall(filled_folder: Path, tmp_path: Path) -> Iterator[Callable[[str], Hall]]:
    """Open a gym with these addresses; it is closed after the test."""
    halls: list[Hall] = []

    def opened(urls: str) -> Hall:
        folder = tmp_path / "hall"
        shutil.copytree(filled_folder, folder)
        halls.append(Hall(folder, urls))
        halls[-1].start()
        return halls[-1]

    yield opened
    for hall in halls:
        hall.kill()


@pytest.fixture
def bare_hall(open_hall: Callable[[str], Hall]) -> Hall:
    """A gym with a bare page in place of the sheet."""
    return open_hall(BARE)


@pytest.fixture
def hall(open_hall: Callable[[str], Hall]) -> Hall:
    """A gym as it is."""
    return open_hall(REAL)


@pytest.fixture
def phone(browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """A phone of its own, signed in as one of the coaches."""
    phones: list[BrowserContext] = []

    def of(hall: Hall, coach: str) -> BrowserContext:
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True
        )
        sign_in(context, hall, coach)
        phones.append(context)
        return context

    yield of
    for context in phones:
        context.close()


def sign_in(context: BrowserContext, hall: Hall, coach: str) -> None:
    """Give the phone the session of this coach."""
    cookie = {"name": "sessionid", "value": hall.sessions[coach], "url": hall.url}
    context.add_cookies([cookie])  # type: ignore[list-item]


@pytest.fixture
def stored(ada: Athlete, bo: Athlete) -> Callable[[], list[Attempt]]:
    """What was stored since the test began, in the order of storing."""
    known = set(Attempt.objects.values_list("pk", flat=True))
    return lambda: list(Attempt.objects.exclude(pk__in=known).order_by("pk"))
