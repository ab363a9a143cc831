"""What the engine said before each day's attempts, with nothing known that came later."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.calibration import VariantPrior, calibrate
from progress.engine.evidence import Flags
from progress.engine.log import Log
from progress.engine.outcomes import CLEAN, Floats, Ints, chance_of_clean
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses, hardness, replay
from progress.engine.terms import Catalogue


@dataclass(frozen=True)
class Predictions:
    """Chances said of attempts and what happened; arrays have an entry a judged attempt.

    ``rows`` are the attempts' places in the log they come from, ``chance`` the probability of
    clean said at the start of the attempt's day, ``clean`` 1 where it was and 0 where not.
    ``athlete`` and ``skill`` index the log's athletes and the catalogue.
    """

    rows: Ints
    chance: Floats
    clean: Ints
    athlete: Ints
    skill: Ints

    def __len__(self) -> int:
        return len(self.rows)

    def only(self, keep: Flags) -> "Predictions":
        """The predictions marked in ``keep``."""
        return Predictions(*(values[keep] for values in vars(self).values()))

    def by(self, chance: Floats) -> "Predictions":
        """The same attempts with what somebody else said; ``chance`` has an entry for each."""
        return Predictions(self.rows, chance, self.clean, self.athlete, self.skill)


def split_day(log: Log, learning_share: float = 0.6) -> int:
    """The first venue day to judge: this share of the log's days lies before it.

    ValueError for an empty log.
    """
    days = np.unique(log.day)
    if len(days) == 0:
        raise ValueError("a log without attempts has no day to judge from")
    return int(days[min(int(learning_share * len(days)), len(days) - 1)])


def said_before(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    first_day: int,
    variants: Mapping[str, VariantPrior] | None = None,
    pauses: Pauses | None = None,
) -> Predictions:
    """Learn from the attempts before venue day ``first_day`` and predict all from that day on.

    Each attempt is predicted from what was known at the start of its day, as a coach opening the
    sheet would have seen it, and by the coach and on the variant it was made. ``tiers``, one entry
    an athlete, should be those of ``first_day``: a tier given later already tells how it went.
    """
    learnt = calibrate(catalogue, tiers, log.before(float(first_day)), variants)
    return said_with(catalogue, tiers, log, learnt, first_day, pauses)


def said_with(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    first_day: int,
    pauses: Pauses | None = None,
) -> Predictions:
    """As ``said_before``, with parameters learnt elsewhere; honest only if from earlier days."""
    day = log.day
    judged = np.flatnonzero(day >= first_day)
    hard, doubt = hardness(log, parameters), parameters.difficulty_sd[log.skill] ** 2
    chance = np.zeros(len(log))
    for one in np.unique(day[judged]):
        rows = judged[day[judged] == one]
        there = np.unique(log.athlete[rows])
        part = log.of([int(row) for row in there]).before(float(one))
        levels = [tiers[row] for row in there]
        known = replay(catalogue, levels, part, parameters, float(one), pauses).beliefs
        mean, variance = known.abilities()
        place, what = np.searchsorted(there, log.athlete[rows]), log.skill[rows]
        chance[rows] = chance_of_clean(
            mean[place, what] - hard[rows], variance[place, what] + doubt[rows]
        )
    clean = (log.result[judged] == CLEAN).astype(np.int64)
    return Predictions(judged, chance[judged], clean, log.athlete[judged], log.skill[judged])
