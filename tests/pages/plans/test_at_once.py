"""Two coaches who move the same child at the same moment, from two phones."""

import itertools
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest

from tests.pages.checks.conftest import REAL, Hall, fill, surroundings
from tests.pages.signed_in import SignedIn
from tests.source import ROOT

TAPS = 5  # of each coach, taking turns between two loops
FLOOR = """
import os, django
os.environ["DJANGO_SETTINGS_MODULE"] = "tests.pages.checks.hall_settings"
django.setup()
from tests import makers
setup = makers.make_setup(name="Floor")
for code in ("north", "south"):
    makers.make_loop(setup, code)
"""


@pytest.fixture
def hall(tmp_path: Path) -> Iterator[Hall]:
    """A gym on a database file, with a floor of two loops."""
    fill(tmp_path)
    subprocess.run([sys.executable, "-c", FLOOR], cwd=ROOT, env=surroundings(tmp_path), check=True)
    hall = Hall(tmp_path, REAL)
    hall.start()
    yield hall
    hall.kill()


class Phone(SignedIn):
    """A coach who taps again and again, sending the child to either loop in turn."""

    def __init__(self, hall: Hall, coach: str) -> None:
        super().__init__(hall, coach)
        self.answers: list[int] = []

    def tap(self, signal: threading.Barrier) -> None:
        for number in range(TAPS):
            to = ("north", "south")[number % 2]
            tap = urlencode({"athlete": "A00", "station": "", "to": f"code:{to}"})
            signal.wait(60)
            self.answers.append(self.send("/classes/monday/plan/move/", {"tap": tap})[0])


def test_every_tap_is_answered_and_one_choice_stands(hall: Hall) -> None:
    phones, signal = [Phone(hall, "kim"), Phone(hall, "sam")], threading.Barrier(2)
    threads = [threading.Thread(target=phone.tap, args=(signal,)) for phone in phones]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)

    assert [phone.answers for phone in phones] == [[302] * TAPS] * 2
    rows = hall.ask("SELECT loop_id, taken_back_at IS NULL FROM progress_planchoice ORDER BY id")
    assert sum(standing for _, standing in rows) == 1  # type: ignore[misc]
    assert rows[-1][1] == 1
    # The same loop twice in a row is one tap by two coaches; neither is lost nor doubled.
    loops = [loop for loop, _ in rows]
    assert all(one != after for one, after in itertools.pairwise(loops))
    assert len(loops) >= TAPS
