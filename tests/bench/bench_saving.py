"""How many queries and milliseconds saving a whole class takes: 30 athletes at 10 skills::

    python -m tests.bench.bench_saving

One request of 300 tries to a gym of 300 athletes with a year's log, through every layer but the
network: the body is read, checked and stored, the answer written. Targets: as many queries for
300 tries as for one, but for the three more INSERTs that SQLite's limit of values makes of 300
rows, and 150 ms at the median. On a busy machine look at the processor's time.
"""

import json
from io import StringIO
from itertools import count
from statistics import median, quantiles
from time import perf_counter, process_time
from typing import Any

from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from tests.bench.filled_site import lead, make_site
from tests.bench.tables import met, show
from tests.simulated_gyms import Habits, simulate

ROUNDS = 21
ATHLETES, SKILLS = 30, 10
MOST_MILLISECONDS = 150.0
HABITS = Habits(athletes=300, weeks=40, ladders=12, gates=2, coaches=8, seen_weekly=0.7)
_numbers = count(1)


def body(athletes: list[str], skills: list[str]) -> str:
    """A sending of fresh tries, as the queue of the sheet writes it."""
    at = timezone.now().isoformat()
    rest: dict[str, Any] = {"variant": None, "supersedes": None, "taken_back": False, "reason": ""}
    entries = [
        {
            "uid": f"{next(_numbers):032x}",
            "athlete": athlete,
            "skill": skill,
            "result": "clean",
            "at": at,
            **rest,
        }
        for athlete in athletes
        for skill in skills
    ]
    return json.dumps({"entries": entries})


def post(client: Client, said: str) -> dict[str, Any]:
    """Send, and see that all of it is stored."""
    address = reverse("send_checks", args=["class-000"])
    response = client.post(address, said, content_type="application/json")
    assert response.status_code == 200, response.content
    answer: dict[str, Any] = json.loads(response.content)
    return answer


def measure(client: Client, name: str, sendings: list[str]) -> list[object]:
    """Send each once; answers a row of the table."""
    with CaptureQueriesContext(connection) as queries:
        post(client, sendings[0])
    asked = len(queries)
    milliseconds, own = [], []
    for said in sendings[1:]:
        start, worked = perf_counter(), process_time()
        post(client, said)
        own.append(1000 * (process_time() - worked))
        milliseconds.append(1000 * (perf_counter() - start))
    middle = median(milliseconds)
    slow = quantiles(milliseconds, n=10)[-1]
    good = met(middle < MOST_MILLISECONDS)
    return [name, asked, middle, slow, median(own), len(sendings[0]) // 1024, good]


def main() -> None:
    """Fill a site up to today and print one table."""
    setup_test_environment()
    gym = simulate(1, HABITS)
    make_site(gym, timezone.localdate())
    # From now on each sending works its athletes' standings out again.
    call_command("bring_up_to_date", stdout=StringIO())
    athletes = sorted(athlete.code for athlete in gym.athletes)[:ATHLETES]
    skills = [skill.code for skill in gym.catalogue.skills[:SKILLS]]
    client = Client()
    client.force_login(lead())
    post(client, body(athletes[:1], skills[:1]))  # the meeting opens with the first try
    single = [body(athletes[:1], skills[:1]) for _ in range(ROUNDS + 1)]
    fresh = [body(athletes, skills) for _ in range(ROUNDS + 1)]
    rows = [
        measure(client, "one try", single),
        measure(client, f"{ATHLETES} athletes x {SKILLS} skills", fresh),
        measure(client, "the same, sent again", fresh),
    ]
    columns = ["sending", "queries", "median ms", "slow tenth ms", "processor ms", "KB", "150 ms"]
    show(f"Saving checks on {connection.vendor}, one request each", columns, rows)


if __name__ == "__main__":
    main()
