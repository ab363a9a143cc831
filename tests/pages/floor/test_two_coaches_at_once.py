"""Coaches press the builder's buttons at the same moment: places stay 1, 2, 3 without a hole."""

import random
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tests.pages.checks.conftest import REAL, Hall, fill
from tests.pages.signed_in import SignedIn

COACHES, PRESSES, STATIONS = ("kim", "sam", "lee"), 12, 5
STOPS = "SELECT loop_id, station_id, position FROM progress_loopstop ORDER BY loop_id, position"


class Phone(SignedIn):
    """A signed-in coach who presses buttons."""

    def press(self, path: str, **values: object) -> str:
        """Send a form; returns where it leads to."""
        status, location = self.send(path, values)
        assert status == 302, status
        return location


@pytest.fixture
def hall(tmp_path: Path) -> Iterator[Hall]:
    """A gym on a database file, with an area to build in."""
    fill(tmp_path)
    hall = Hall(tmp_path, REAL)
    hall.ask("INSERT INTO progress_area (code, name, small) VALUES ('main', 'Main', 0)")
    hall.start()
    yield hall
    hall.kill()


def test_nothing_gets_lost_and_no_place_is_given_twice(hall: Hall) -> None:
    kim = Phone(hall, "kim")
    today = datetime.now(UTC).date()
    monday = today + timedelta(days=14 - today.weekday())
    setup = kim.press("/floor/copy/", week=monday.isoformat()).split("#")[0]
    for name in ("Left", "Right"):
        kim.press(f"{setup}loops/", name=name, area=1)
    loops = [int(str(pk)) for (pk,) in hall.ask("SELECT id FROM progress_loop ORDER BY id")]
    for number in range(STATIONS):
        kim.press(f"{setup}loops/{loops[0]}/pick/", name=f"Station {number}")
    stations = [pk for (pk,) in hall.ask("SELECT id FROM progress_station ORDER BY id")]

    def plan(coach: str) -> None:
        dice = random.Random(coach)
        phone = Phone(hall, coach)
        ready.wait()
        for _ in range(PRESSES):
            phone.press(
                f"{setup}stops/",
                do=dice.choice(("up", "down", "place", "move")),
                loop=dice.choice(loops),
                to_loop=dice.choice(loops),
                station=dice.choice(stations),
                place=dice.randint(1, STATIONS),
            )
        finished.append(coach)

    finished: list[str] = []
    ready = threading.Barrier(len(COACHES))
    pressing = [threading.Thread(target=plan, args=(coach,)) for coach in COACHES]
    for one in pressing:
        one.start()
    for one in pressing:
        one.join()

    assert sorted(finished) == sorted(COACHES)
    check_places(hall, loops, stations)


def check_places(hall: Hall, loops: list[int], stations: list[object]) -> None:
    """Every station is on one loop, and each loop's places run from 1."""
    stops = hall.ask(STOPS)
    assert sorted(station for _, station, _ in stops) == stations  # type: ignore[type-var]
    for loop in loops:
        places = [place for at, _, place in stops if at == loop]
        assert places == list(range(1, len(places) + 1))
