"""How far two coaches agree where both checked one child at one skill on one day."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.agreement import (
    DoubleChecks,
    Kappa,
    double_checks,
    kappa,
    linear_weights,
    of_equal_coaches,
    table_of_all,
)
from progress.engine.log import Log
from progress.engine.outcomes import Floats
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses, hardness, replay
from progress.engine.terms import Catalogue

FEWEST_PAIRS = 20  # below, the error of a kappa is too rough to show
MOST_PAIRS = 400  # the latest; earlier ones tell of how coaches marked long ago


@dataclass(frozen=True)
class Agreement:
    """Double checks of the gym, by all coaches.

    ``found``: the weighted kappa, None with fewer than FEWEST_PAIRS or where every result is the
    same. ``alike``: the kappa to expect if coaches judged exactly alike, as two tries of a child
    may truly differ. ``table``: counts, rows and columns miss, with help, clean.
    """

    pairs: int
    found: Kappa | None
    alike: float | None
    table: tuple[tuple[int, ...], ...]


def compare_double_checks(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    pauses: Pauses | None = None,
) -> Agreement:
    """Compare what coaches wrote down of the same child, skill and day, the latest MOST_PAIRS."""
    pairs = _latest(log, double_checks(log))
    table = table_of_all(log, pairs)
    rows = tuple(tuple(row) for row in table.tolist())
    found = kappa(table, linear_weights()) if len(pairs) >= FEWEST_PAIRS else None
    if found is None:
        return Agreement(len(pairs), None, None, rows)
    mean, variance = _before_that_day(catalogue, tiers, log, pairs, parameters, pauses)
    equal = of_equal_coaches(mean, variance, parameters.help_gap[log.skill[pairs.first]])
    alike = kappa(equal, linear_weights())
    return Agreement(len(pairs), found, None if alike is None else alike.value, rows)


def _latest(log: Log, pairs: DoubleChecks) -> DoubleChecks:
    order = np.argsort(log.when[pairs.first], kind="stable")[-MOST_PAIRS:]
    return DoubleChecks(pairs.first[order], pairs.second[order])


def _before_that_day(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    pairs: DoubleChecks,
    parameters: Parameters,
    pauses: Pauses | None,
) -> tuple[Floats, Floats]:
    """Ability less all that made the tries hard, as known before the day; the two tries' mean.

    One replay a day, of the children checked twice on it.
    """
    hard = hardness(log, parameters)
    against = (hard[pairs.first] + hard[pairs.second]) / 2
    who, skill, day = log.athlete[pairs.first], log.skill[pairs.first], log.day[pairs.first]
    mean, variance = np.zeros(len(pairs)), np.zeros(len(pairs))
    for one in np.unique(day):
        now = np.flatnonzero(day == one)
        there = np.unique(who[now])
        part = log.of([int(row) for row in there]).before(float(one))
        levels = [tiers[row] for row in there]
        known = replay(catalogue, levels, part, parameters, float(one), pauses).beliefs
        abilities, doubt = known.abilities()
        place = np.searchsorted(there, who[now])
        mean[now] = abilities[place, skill[now]] - against[now]
        variance[now] = doubt[place, skill[now]] + parameters.difficulty_sd[skill[now]] ** 2
    return mean, variance
