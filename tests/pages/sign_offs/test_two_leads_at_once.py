"""The same athlete moved up twice at the same moment, on a real database with a real server."""

import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.pages.checks.conftest import REAL, Hall, fill, surroundings
from tests.pages.signed_in import SignedIn
from tests.source import ROOT

ATHLETES = [f"A{number:02}" for number in range(6)]
MORE = """
import os, django
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.pages.checks.hall_settings"
django.setup()
from tests import makers
for tier in (2, 3):
    makers.make_skill(f"TIER-{tier}", ladder="landing", tier=tier)
"""


@pytest.fixture
def hall(tmp_path: Path) -> Iterator[Hall]:
    """A gym on a database file, with two more tiers to move up to and no safety skills."""
    fill(tmp_path)
    subprocess.run([sys.executable, "-c", MORE], cwd=ROOT, env=surroundings(tmp_path), check=True)
    hall = Hall(tmp_path, REAL)
    hall.start()
    yield hall
    hall.kill()


class Laptop(SignedIn):
    """The lead's page, open on one of two machines."""

    def __init__(self, hall: Hall) -> None:
        super().__init__(hall, "lee")
        self.answers: list[int] = []

    def press(self, signal: threading.Barrier) -> None:
        for code in ATHLETES:
            sent = {"athlete": code, f"seen:{code}": "1:needs_checks", "sentence": "Both agree."}
            signal.wait(60)
            self.answers.append(self.send("/move-up/sign-off/", {**sent})[0])


def test_each_athlete_moves_one_tier_and_has_one_decision(hall: Hall) -> None:
    laptops, signal = [Laptop(hall), Laptop(hall)], threading.Barrier(2)
    threads = [threading.Thread(target=one.press, args=(signal,)) for one in laptops]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)

    assert [one.answers for one in laptops] == [[302] * len(ATHLETES)] * 2
    moved = hall.ask("SELECT code FROM progress_athlete WHERE tier_id = 2 ORDER BY code")
    assert [code for (code,) in moved] == ATHLETES
    rows = hall.ask("SELECT from_tier_id, to_tier_id FROM progress_signoff")
    assert rows == [(1, 2)] * len(ATHLETES)
