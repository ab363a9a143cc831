"""Coaches who write down hardly anything but clean tries, as far as a log can show it.

What nobody writes down leaves no trace, so chances learnt from such a log are too high and no
measure of fit tells. Only the share of tries short of clean can be looked at: practice that
children learn from is not clean nearly always.
"""

from dataclasses import dataclass

import numpy as np

from progress.engine.log import Log
from progress.engine.outcomes import CLEAN
from progress.engine.proportions import wilson

# A share of tries short of clean surely below this is hardly what happened in the hall. At the
# middle of the target band three tries in twenty are short of clean. A choice, not a measurement;
# with it 73 clean tries and no other are enough to ask.
SUSPICIOUS = 0.05
LEVEL = 0.95


@dataclass(frozen=True)
class Recorded:
    """How many of a coach's ``tries`` were short of clean, with bounds of that share.

    ``coach`` is None for the whole gym. ``one_sided``: surely fewer than SUSPICIOUS of them.
    """

    coach: str | None
    tries: int
    short_of_clean: int
    low: float
    high: float

    @property
    def one_sided(self) -> bool:
        """Whether it looks as if only what went well was written down."""
        return self.high < SUSPICIOUS


def recorded(log: Log) -> tuple[Recorded, ...]:
    """The whole gym first, then each coach of the log with a try, in the log's order."""
    short = log.result != CLEAN
    found = [_recorded(None, len(log), int(short.sum()))]
    for number, coach in enumerate(log.coaches):
        mine = log.coach == number
        if mine.any():
            found.append(_recorded(coach, int(mine.sum()), int((short & mine).sum())))
    return tuple(found)


def _recorded(coach: str | None, tries: int, short: int) -> Recorded:
    low, high = wilson(np.array([short]), np.array([tries]), LEVEL)
    return Recorded(coach, tries, short, float(low[0]), float(high[0]))
