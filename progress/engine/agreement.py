"""How far two coaches agree where both checked the same athlete at the same skill on one day.

Two checks of a day are two tries, not one try seen twice: a child may land one and miss the next.
So coaches of the very same judgement do not reach a kappa of 1 here. ``of_equal_coaches`` gives the
table they would fill, which is what the table seen should be held against.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from progress.engine.log import UNKNOWN, Log
from progress.engine.outcomes import CLEAN, NODES, WEIGHTS, Floats, Ints, likelihood
from progress.engine.proportions import LEVEL, reach, wilson

RESULTS = CLEAN + 1


@dataclass(frozen=True)
class DoubleChecks:
    """Pairs of attempts by two coaches: rows of the log, ``first`` before ``second``.

    Arrays have an entry a pair; no attempt is in two pairs.
    """

    first: Ints
    second: Ints

    def __len__(self) -> int:
        return len(self.first)


@dataclass(frozen=True)
class Kappa:
    """Agreement beyond chance: 1 is perfect, 0 what chance alone gives, below 0 less than that.

    ``se`` is its large-sample standard error; ``low`` and ``high`` bound it, cut at -1 and 1;
    ``se_by_chance`` is the error if there were no agreement but chance, and ``z`` and ``p`` the
    two-sided test of that (``p`` is None where that error is 0). ``agreed`` is the weighted share
    of agreement seen, ``by_chance`` the one expected. ``same`` of ``pairs`` were the same result,
    a share between ``same_low`` and ``same_high``: the plain figure to show beside a kappa.

    With a few dozen pairs the error is rough; at perfect agreement it is 0 whatever the number of
    pairs, so look at ``same_low`` there.
    """

    value: float
    se: float
    low: float
    high: float
    se_by_chance: float
    z: float | None
    p: float | None
    agreed: float
    by_chance: float
    pairs: int
    same: int
    same_low: float
    same_high: float


def double_checks(log: Log) -> DoubleChecks:
    """Consecutive attempts of different coaches at one skill by one athlete on one day.

    Attempts of coaches nobody knows are passed over. Of three in a row by coaches A, B and A the
    first two make a pair and the third is left over.
    """
    known = np.flatnonzero(log.coach != UNKNOWN)
    day, coach = log.day[known], log.coach[known]
    order = np.lexsort((log.when[known], day, log.skill[known], log.athlete[known]))
    rows, day, coach = known[order], day[order], coach[order]
    where = np.stack([log.athlete[rows], log.skill[rows], day], axis=1)
    link = np.all(where[1:] == where[:-1], axis=1) & (coach[1:] != coach[:-1])
    # Every other link of an unbroken chain, so that no attempt is used twice.
    place = np.arange(len(link))
    chain_start = np.maximum.accumulate(np.where(link, -1, place)) if len(link) else place
    chosen = np.flatnonzero(link & ((place - chain_start) % 2 == 1))
    return DoubleChecks(rows[chosen], rows[chosen + 1])


def coaches_of(log: Log, pairs: DoubleChecks) -> tuple[tuple[int, int], ...]:
    """The pairs of coaches (places in ``log.coaches``, lower first) that have double checks."""
    both = np.stack([log.coach[pairs.first], log.coach[pairs.second]], axis=1)
    found = np.unique(np.sort(both, axis=1), axis=0) if len(both) else both
    return tuple((int(one), int(other)) for one, other in found)


def table_of(log: Log, pairs: DoubleChecks, one: int, other: int | None = None) -> Ints:
    """Counts of results, shape (3, 3): rows are what coach ``one`` saw, miss to clean.

    Columns are what ``other`` saw, or any other coach where that is None.
    """
    table = np.zeros((RESULTS, RESULTS), dtype=np.int64)
    for mine, theirs in ((pairs.first, pairs.second), (pairs.second, pairs.first)):
        keep = log.coach[mine] == one
        if other is not None:
            keep &= log.coach[theirs] == other
        np.add.at(table, (log.result[mine][keep], log.result[theirs][keep]), 1)
    return table


def table_of_all(log: Log, pairs: DoubleChecks) -> Ints:
    """Counts of results over all coaches, shape (3, 3).

    Coaches are interchangeable here, so the one first in ``log.coaches`` gives the row.
    """
    table = np.zeros((RESULTS, RESULTS), dtype=np.int64)
    turned = log.coach[pairs.first] > log.coach[pairs.second]
    rows = np.where(turned, pairs.second, pairs.first)
    columns = np.where(turned, pairs.first, pairs.second)
    np.add.at(table, (log.result[rows], log.result[columns]), 1)
    return table


def plain_weights(size: int = RESULTS) -> Floats:
    """Only the same result counts as agreement: Cohen's first kappa."""
    return np.eye(size)


def linear_weights(size: int = RESULTS) -> Floats:
    """Agreement falls evenly with the steps between two results."""
    return np.asarray(1 - _steps(size) / (size - 1))


def quadratic_weights(size: int = RESULTS) -> Floats:
    """Agreement falls with the square of the steps between two results."""
    return np.asarray(1 - (_steps(size) / (size - 1)) ** 2)


def weights_of_disagreement(disagreement: Sequence[Sequence[float]] | Floats) -> Floats:
    """Agreement weights from penalties, 0 on the diagonal: 1 less the share of the worst."""
    penalty = np.asarray(disagreement, dtype=float)
    if np.any(np.diag(penalty) != 0) or np.any(penalty < 0) or penalty.max(initial=0.0) <= 0:
        raise ValueError("penalties are 0 for the same result and above 0 for some other")
    return np.asarray(1 - penalty / penalty.max())


def kappa(
    table: Ints | Floats, weights: Floats | None = None, level: float = LEVEL
) -> Kappa | None:
    """Cohen's kappa of a square ``table`` of counts; ``weights`` are agreement weights.

    Weights are 1 on the diagonal and at most 1 elsewhere; none: only the same result agrees.
    None where there are no pairs, or where chance alone would agree always (a single result in
    use), so that nothing is left to agree about. ValueError for a table or weights of another
    shape, or penalties given for weights.

    Cohen 1968, Psychol. Bull. 70:213-220; standard errors of Fleiss, Cohen & Everitt 1969,
    Psychol. Bull. 72:323-327.
    """
    counts = np.asarray(table, dtype=float)
    agree = plain_weights(len(counts)) if weights is None else np.asarray(weights, dtype=float)
    _refuse(counts, agree)
    if counts.sum() == 0:
        return None
    share = counts / counts.sum()
    seen = float((agree * share).sum())
    chance = float(share.sum(axis=1) @ agree @ share.sum(axis=0))
    return None if chance >= 1 - 1e-12 else _kappa(counts, agree, (seen, chance), level)


def _kappa(counts: Floats, agree: Floats, shares: tuple[float, float], level: float) -> Kappa:
    """Kappa from the agreement seen and by chance, the latter below 1."""
    total, (seen, chance) = float(counts.sum()), shares
    share = counts / total
    value = (seen - chance) / (1 - chance)
    scale = 1 / ((1 - chance) * np.sqrt(total))
    se, se_by_chance = (scale * error for error in _errors(share, agree, value, chance))
    half = reach(level) * se
    z = value / se_by_chance if se_by_chance > 0 else None
    same = round(float(np.trace(counts)))
    low, high = wilson(np.array([same]), np.array([round(total)]), level)
    return Kappa(
        value=value,
        se=se,
        low=max(value - half, -1.0),
        high=min(value + half, 1.0),
        se_by_chance=se_by_chance,
        z=z,
        p=None if z is None else float(2 * ndtr(-abs(z))),
        agreed=seen,
        by_chance=chance,
        pairs=round(total),
        same=same,
        same_low=float(low[0]),
        same_high=float(high[0]),
    )


def _errors(share: Floats, agree: Floats, value: float, chance: float) -> tuple[float, float]:
    """Standard errors of kappa as it is and under chance alone, before the common scale."""
    rows, columns = share.sum(axis=1), share.sum(axis=0)
    margins = (agree @ columns)[:, None] + (rows @ agree)[None, :]
    by_value = (share * (agree - margins * (1 - value)) ** 2).sum()
    by_value -= (value - chance * (1 - value)) ** 2
    by_luck = (np.outer(rows, columns) * (agree - margins) ** 2).sum() - chance**2
    # A few ulps below zero where agreement is perfect.
    return float(np.sqrt(max(by_value, 0.0))), float(np.sqrt(max(by_luck, 0.0)))


def of_equal_coaches(mean: Floats, variance: Floats, help_gap: Floats) -> Floats:
    """The table expected if both tries of each pair were judged alike; it sums to the pairs.

    Arrays with an entry a pair: ``mean`` and ``variance`` of ability minus all that made the
    tries hard, in logits, before that day, and the help gap. Given ability two tries are
    independent, so one integral a pair gives the chances of all nine pairs of results.
    """
    at_nodes = mean[:, None] + np.sqrt(variance)[:, None] * NODES
    chances = np.stack(
        [
            likelihood(at_nodes, np.full((1, 1), result), help_gap[:, None])
            for result in range(RESULTS)
        ]
    )
    return np.asarray(np.einsum("ipn,jpn,n->ij", chances, chances, WEIGHTS))


def _steps(size: int) -> Floats:
    places = np.arange(size, dtype=float)
    return np.abs(places[:, None] - places[None, :])


def _refuse(counts: Floats, agree: Floats) -> None:
    """Raise ValueError for what is no table of counts or no agreement weights."""
    if counts.ndim != 2 or counts.shape[0] != counts.shape[1] or np.any(counts < 0):
        raise ValueError("a table of agreement is square and has no negative counts")
    if agree.shape != counts.shape:
        raise ValueError("weights have the shape of the table")
    if np.any(np.diag(agree) != 1) or np.any(agree > 1):
        raise ValueError("agreement weights are 1 for the same result and at most 1 elsewhere")
