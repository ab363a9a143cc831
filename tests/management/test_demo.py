"""``manage.py demo``: what it prints, that it serves only when asked, and where it refuses."""

import re
from datetime import datetime
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from progress.management.commands import demo as command
from progress.models import Athlete, GymClass, Setup
from progress.usecases.calibrate_gym import calibrate_gym
from progress.usecases.make_gym import GymMade
from progress.usecases.open_demo import Demo, SignIn
from progress.usecases.see_class import see_class
from tests import makers

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("stopped_clock")]

HEADINGS = [
    "WHO IS READY FOR THE NEXT TIER",
    "WHICH VARIANT OF EACH STATION",
    "WHAT TO CHECK TONIGHT",
]
CAUTION = (
    "These are suggestions. A qualified person on the floor decides; the equipment maker's "
    "instructions and local rules come first."
)
NEVER_SAID = re.compile(
    r"\b(safe|safely|cleared|guaranteed?|proven|points?|stars?|streak|belt|rank)\b", re.IGNORECASE
)


def run(*options: str) -> str:
    out = StringIO()
    call_command("demo", *options, stdout=out)
    return out.getvalue()


def only_migrate(name: str, **options: Any) -> None:
    assert name == "migrate"
    call_command(name, **options)


@pytest.fixture
def opened(
    monday_class: GymClass, floor: Setup, monkeypatch: pytest.MonkeyPatch
) -> dict[str, list[Any]]:
    """Instead of a made-up gym, show the cast's class; keep what was asked for and called."""
    told: dict[str, list[Any]] = {"opened": [], "called": []}

    def open_demo(**asked: Any) -> Demo:
        told["opened"].append(asked)
        return Demo(
            GymMade(len(told["opened"]) == 1, 5, 2, 3, 1, 1, 0, 0, 1, 0, 32, 0),
            calibrate_gym(today=makers.TODAY),
            (SignIn("coach", "a public password", "Kim, coach"),),
            see_class(gym_class=monday_class, today=makers.TODAY),
        )

    monkeypatch.setattr(command, "open_demo", open_demo)
    monkeypatch.setattr(command, "call_command", lambda *a, **k: told["called"].append((a, k)))
    return told


def test_a_whole_made_up_gym_is_made_and_tonights_class_is_printed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """All is real but the learning, which has tests of its own and takes its time.

    A site that is served by mistake would never end, so that is refused.
    """
    monkeypatch.setattr("progress.engine.calibration.FEWEST_ATTEMPTS", 10**9)
    monkeypatch.setattr(command, "call_command", only_migrate)

    said = run("--no-serve")

    assert re.match(
        r"Made-up gym made: 120 athletes in 9 classes, \d{5} attempts at 55 skills\.", said
    )
    places = [said.index(heading) for heading in HEADINGS]
    assert places == sorted(places)
    assert CAUTION in " ".join(said.split())
    assert NEVER_SAID.findall(said) == []
    assert len([line for line in said.splitlines() if line.startswith("Loop ")]) > 1
    for username in ("coach", "lead", "desk", "parent"):
        assert re.search(rf"^  {username} +made-up hall only +\w+", said, re.MULTILINE)
    assert "public passwords: for the made-up gym only" in said
    assert "http" not in said
    assert max(map(len, said.splitlines())) <= 100
    assert run("--no-serve") == said.replace("gym made:", "gym kept as it is:")


def test_it_brings_the_database_up_to_date_first(opened: dict[str, list[Any]]) -> None:
    run("--no-serve")
    assert opened["called"] == [(("migrate",), {"verbosity": 0})]


def test_asked_not_to_serve_it_stops_after_printing(opened: dict[str, list[Any]]) -> None:
    said = run("--no-serve")

    assert [heading for heading in HEADINGS if heading in said] == HEADINGS
    assert "The site is at" not in said
    assert "runserver" not in [called[0][0] for called in opened["called"]]


def test_otherwise_it_serves_where_it_was_told(opened: dict[str, list[Any]]) -> None:
    said = run("--address", "127.0.0.1:8123")

    assert "The site is at http://127.0.0.1:8123/" in said
    assert said.index("WHAT TO CHECK") < said.index("The site is at")
    assert opened["called"][-1] == (
        ("runserver", "127.0.0.1:8123"),
        {"use_reloader": False, "verbosity": 0},
    )


def test_the_gym_is_made_for_today_and_for_the_seed_asked(
    opened: dict[str, list[Any]], stopped_clock: datetime
) -> None:
    run("--no-serve", "--seed", "7")
    run("--no-serve")

    assert opened["opened"] == [
        {"seed": 7, "today": makers.TODAY},
        {"seed": command.SEED, "today": makers.TODAY},
    ]


def test_sign_ins_are_printed_with_whose_they_are(opened: dict[str, list[Any]]) -> None:
    assert "  coach    a public password    Kim, coach\n" in run("--no-serve")


def test_a_gym_with_children_of_its_own_is_refused() -> None:
    makers.make_athlete("real")
    with pytest.raises(CommandError, match=r"records of its own.*in an empty one"):
        run("--no-serve")
    assert Athlete.objects.count() == 1
