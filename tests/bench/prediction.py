"""How well the next attempt is predicted, against plain baselines::

    python -m tests.bench.prediction [seed]

On simulated gyms, most of which break an assumption of the engine, and on the made-up gym. The
first 60% of days are for learning; every attempt of the other days is predicted from what was
known before its day. Targets: the paired difference in log loss from each baseline has a 95%
interval over athletes above zero (gradient boosting is shown beside them), and the calibration
error is at most 1.5 times what a perfect model shows by luck on as many attempts.
"""

import sys
from collections.abc import Iterator

from progress.engine.outcomes import Floats
from progress.engine.predictions import said_before
from progress.engine.report_card import Marks, compare, marks
from progress.engine.yardsticks import count, predict_plainly
from tests.bench.baselines import boosting
from tests.bench.gyms import Case, simulated
from tests.bench.made_up import made_up_case
from tests.bench.tables import met, show

MOST_TIMES_LUCK = 1.5
LEVEL = 0.95
TRUTH, BESIDE = "the truth itself", "gradient boosting"


def judge(case: Case) -> tuple[list[list[object]], list[object]]:
    """A row for everyone who predicted, and the row of targets."""
    said = said_before(
        case.catalogue, case.tiers, case.log, case.first_day, case.variants, case.pauses
    )
    ours = marks(said)
    rows: list[list[object]] = [[case.name, "engine", *_figures(ours), "", ""]]
    beaten = []
    for who, chance in others(case):
        theirs = said.by(chance[said.rows])
        against = compare(said, theirs, LEVEL)
        better = "" if who == TRUTH else met(against.better is True)
        if who not in (TRUTH, BESIDE):
            beaten.append(against.better is True)
        rows.append(["", who, *_figures(marks(theirs)), _gap(against.gain, against.low), better])
    return rows, [case.name, len(said), met(all(beaten)), *_calibrated(ours)]


def others(case: Case) -> Iterator[tuple[str, Floats]]:
    """The truth where it is known, then every yardstick: a chance for each attempt of the log."""
    if case.true_clean is not None:
        yield TRUTH, case.true_clean
    yield from predict_plainly(case.catalogue, case.tiers, case.log, case.first_day).items()
    told = count(case.catalogue, case.tiers, case.log)
    yield BESIDE, boosting(told, case.log.day < case.first_day)


def _figures(found: Marks) -> list[object]:
    error = found.calibration.error if found.calibration else float("nan")
    return [found.log_loss, found.brier, error]


def _gap(gain: float, low: float | None) -> str:
    return f"{gain:+.4f} ± {gain - low:.4f}" if low is not None else f"{gain:+.4f}"


def _calibrated(found: Marks) -> list[object]:
    """Calibration error, what luck makes of it on average and once in twenty, and the target."""
    error = found.calibration
    assert error is not None, "every case has attempts to judge"
    times = error.error / error.by_luck
    return [error.error, error.by_luck, error.luck_high, times, met(times <= MOST_TIMES_LUCK)]


def cases(seed: int) -> Iterator[Case]:
    """The made-up gym and all simulated ones."""
    yield made_up_case(seed)
    yield from (case for case, _ in simulated(seed))


def main(seed: int) -> None:
    """Print the predictions and the targets of all gyms."""
    found = [judge(case) for case in cases(seed)]
    columns = ["gym", "who", "log loss", "Brier", "ECE", "less engine (95%)", "engine better"]
    show(
        f"Prediction of the next attempt, seed {seed}",
        columns,
        [row for rows, _ in found for row in rows],
    )
    targets = ["gym", "attempts", "beats the four", "ECE", "by luck", "luck, 1 in 20"]
    show(
        "Targets: better than every baseline, ECE at most 1.5 x luck",
        [*targets, "times luck", f"{MOST_TIMES_LUCK} x"],
        [row for _, row in found],
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1)
