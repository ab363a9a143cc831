"""How many queries and milliseconds the class page takes for 30 athletes::

    python -m tests.bench.class_page

The gym has 300 athletes and a year's log; the page is loaded by the lead, the calibration of the
week is there already. Target: half a second. On a busy machine look at the processor's time.
"""

from statistics import median, quantiles
from time import perf_counter, process_time

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from tests.bench.filled_site import lead, make_site
from tests.bench.tables import met, show
from tests.simulated_gyms import Habits, simulate

LOADS = 21
MOST_MILLISECONDS = 500.0
HABITS = Habits(athletes=300, weeks=40, ladders=12, gates=2, coaches=8, seen_weekly=0.7)
PAGES = (("class_page", "the class"), ("check_sheet", "its check sheet"))


def measure(client: Client, page: str) -> list[object]:
    """Load a page again and again."""
    address = reverse(page, args=["class-000"])
    first = client.get(address)
    assert first.status_code == 200, first.status_code
    with CaptureQueriesContext(connection) as queries:
        client.get(address)
    asked = len(queries)  # counted now: the next request clears the list
    milliseconds, own = [], []
    for _ in range(LOADS):
        start, worked = perf_counter(), process_time()
        client.get(address)
        own.append(1000 * (process_time() - worked))
        milliseconds.append(1000 * (perf_counter() - start))
    middle = median(milliseconds)
    slow = quantiles(milliseconds, n=10)[-1]
    good = met(middle < MOST_MILLISECONDS)
    return [asked, middle, slow, median(own), len(first.content) // 1024, good]


def main() -> None:
    """Fill a site up to today and print one table."""
    setup_test_environment()
    make_site(simulate(1, HABITS), timezone.localdate())
    client = Client()
    client.force_login(lead())
    rows = [[name, *measure(client, page)] for page, name in PAGES]
    columns = ["page", "queries", "median ms", "slow tenth ms", "processor ms", "KB", "500 ms"]
    show("Pages of a class of 30", columns, rows)


if __name__ == "__main__":
    main()
