"""How the lead's board does in a gym of 5,000 athletes with 1,000,000 attempts::

    python -m tests.bench.board [--athletes 5000] [--attempts 1000000]

First every standing is worked out, as at night or when a lead presses the button, by the command
in a process of its own. Then the board is opened as a lead does, sorted, narrowed and paged, and a
class's tries are saved. Targets: 12 queries and 400 ms a page, 150 ms a save. It takes some
minutes; with DATABASE_URL set it fills that database, which must be empty. On a busy machine look
at the processor's time.
"""

import argparse
import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from tests.bench.bench_saving import body, post
from tests.bench.big_log import add_attempts
from tests.bench.filled_site import CLASS_SIZE, lead, make_site
from tests.bench.tables import met, show
from tests.simulated_gyms import Habits, SimulatedGym, simulate

MOST_QUERIES, MOST_MILLISECONDS, MOST_SAVING = 12, 400.0, 150.0
LADDERS, GATES, COACHES = 12, 2, 20
SAVES = 7
ROOT = Path(__file__).resolve().parent.parent.parent
ASKED = (
    *("", "sort=name", "sort=-name", "sort=tier", "sort=-readiness", "sort=last_checked"),
    *("page=2", "page=50", "page=100&sort=name", "words=child+a1", "tier=2"),
    *("decision=ready", "skill=L3-2&sort=last_checked", "gym_class=class-007"),
    "decision=nearly&hold=no&unchecked=4&age_from=7",
)


def manage(command: str) -> list[object]:
    """Run it in a process of its own: seconds, the processor's seconds, and peak megabytes."""
    told = [sys.executable, str(ROOT / "manage.py"), command]
    own = {**os.environ, "DJANGO_SETTINGS_MODULE": "gymsite.settings"}
    own["DATA_DIR"] = str(settings.DATA_DIR)
    start = perf_counter()
    process = subprocess.Popen(told, env=own, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    said = process.stdout.read().strip()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0, process.returncode
    seconds = perf_counter() - start
    return [command, seconds, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, said]


def open_board(client: Client, asked: str) -> list[object]:
    """Open one view of the board and look at it."""
    address = reverse("move_up_list") + (f"?{asked}" if asked else "")
    start, worked = perf_counter(), process_time()
    with CaptureQueriesContext(connection) as queries:
        response = client.get(address)
    milliseconds, own = 1000 * (perf_counter() - start), 1000 * (process_time() - worked)
    assert response.status_code == 200, response.status_code
    good = met(len(queries) <= MOST_QUERIES), met(milliseconds < MOST_MILLISECONDS)
    return [asked or "as it opens", len(queries), milliseconds, own, *good]


def save(client: Client, gym: SimulatedGym) -> list[object]:
    """Save a try of everybody in a class, a few times; their standings are worked out with it."""
    athletes = list(gym.log.athletes[:CLASS_SIZE])
    skill = [gym.catalogue.skills[0].code]
    post(client, body(athletes, skill))
    milliseconds, own = [], []
    for _ in range(SAVES):
        said, start, worked = body(athletes, skill), perf_counter(), process_time()
        post(client, said)
        milliseconds.append(1000 * (perf_counter() - start))
        own.append(1000 * (process_time() - worked))
    with CaptureQueriesContext(connection) as queries:
        post(client, body(athletes, skill))
    middle = median(milliseconds)
    return [f"{CLASS_SIZE} tries", len(queries), middle, median(own), met(middle < MOST_SAVING)]


def fill(athletes: int, attempts: int) -> SimulatedGym:
    """The gym, its classes and its log up to today."""
    habits = Habits(athletes=athletes, weeks=1, ladders=LADDERS, gates=GATES, coaches=COACHES)
    gym = simulate(1, habits)
    start = perf_counter()
    make_site(gym, timezone.localdate())
    add_attempts(gym, timezone.localdate(), attempts)
    print(f"{athletes:,} athletes, {attempts:,} attempts stored: {perf_counter() - start:.0f} s")
    return gym


def main() -> None:
    """Fill a site, bring it up to date, open the board, save, and print three tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--athletes", type=int, default=5_000)
    parser.add_argument("--attempts", type=int, default=1_000_000)
    size = parser.parse_args()
    setup_test_environment()
    gym = fill(size.athletes, size.attempts)
    connection.close()
    rows = [manage(command) for command in ("calibrate", "bring_up_to_date", "bring_up_to_date")]
    show("Everybody", ["command", "seconds", "processor s", "peak MB", "said"], rows)
    client = Client()
    client.force_login(lead())
    open_board(client, "")  # templates are read the first time
    views = [open_board(client, asked) for asked in ASKED]
    columns = ["view", "queries", "ms", "processor ms", "12 queries", "400 ms"]
    show(f"The board on {connection.vendor}", columns, views)
    print(f"  median: {median(float(str(view[2])) for view in views):.0f} ms")
    columns = ["save", "queries", "median ms", "processor ms", "150 ms"]
    show("One save, its standings worked out with it", columns, [save(client, gym)])


if __name__ == "__main__":
    main()
