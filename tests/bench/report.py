"""How long ``manage.py report`` takes for 2,000 athletes with 200,000 attempts, and its memory::

    python -m tests.bench.report

The command runs as a process of its own, on SQLite: first as in a week nobody has calibrated for
yet, then again with the calibration kept. Targets: 15 seconds and 1 GB.
On a busy machine look at the processor's seconds.
"""

import os
import resource
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path
from time import perf_counter

from tests.bench.filled_site import make_site
from tests.bench.tables import met, show
from tests.simulated_gyms import Habits, simulate

LAST_DAY = date(2026, 3, 2)
MOST_SECONDS, MOST_MEGABYTES = 15.0, 1024.0
HABITS = Habits(
    athletes=2000, weeks=40, ladders=12, gates=2, coaches=20, seen_weekly=0.625, most_tries=3
)
ROOT = Path(__file__).resolve().parent.parent.parent


def run(folder: Path) -> tuple[float, float, float]:
    """Seconds, the processor's seconds, and the most megabytes such a process has held so far."""
    command = [sys.executable, str(ROOT / "manage.py"), "report", "--as-of", LAST_DAY.isoformat()]
    settings = {**os.environ, "DJANGO_SETTINGS_MODULE": "gymsite.settings"}
    start, before = perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([*command, "--out", str(folder)], env=settings, check=True, capture_output=True)
    seconds, after = perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    worked = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, worked, after.ru_maxrss / 1024


def main() -> None:
    """Fill a site, run the report twice, and print one table."""
    gym = simulate(1, HABITS)
    make_site(gym, LAST_DAY)
    rows: list[list[object]] = []
    with tempfile.TemporaryDirectory() as folder:
        first, again = Path(folder) / "first", Path(folder) / "again"
        for name, out in (("first of the week", first), ("calibration kept", again)):
            seconds, worked, megabytes = run(out)
            good = met(seconds < MOST_SECONDS), met(megabytes < MOST_MEGABYTES)
            rows.append([name, len(gym.log), seconds, worked, megabytes, *good])
        same = all(
            (again / path.name).read_bytes() == path.read_bytes() for path in first.iterdir()
        )
    columns = ["run", "attempts", "seconds", "processor s", "peak MB", "15 s", "1 GB"]
    show("Report for 2,000 athletes", columns, rows)
    print(f"  both runs byte for byte the same: {'yes' if same else 'NO'}")


if __name__ == "__main__":
    main()
