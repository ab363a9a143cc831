"""How strictly each coach judges, how surely that is known, and who should check together.

Severity is in logits: what a coach adds to the difficulty of every try. It is estimated from the
prequential likelihood, that is how well each attempt is predicted just before it happens, with
everything else as calibrated. Coaches who saw other children at other skills are thereby compared
through what the engine knows of those children and skills.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from scipy.special import ndtr

from progress.engine.agreement import double_checks
from progress.engine.calibration import MOST_REPLAYED, SEVERITY_SD, thin
from progress.engine.log import UNKNOWN, Log
from progress.engine.outcomes import Floats
from progress.engine.parameters import Parameters
from progress.engine.proportions import LEVEL, reach
from progress.engine.replay import Pauses, replay
from progress.engine.terms import Catalogue

STEP = 0.05  # logits, for central differences
MOST_STEPS = 4
SETTLED = 0.01  # logits; no coach could notice less


@dataclass(frozen=True)
class Severities:
    """Severity of each coach of the log, in the order of ``coaches``, with its covariance.

    ``value`` in logits, shrunk to zero as far as the evidence is thin; 0.5 more turns a chance of
    80% into 71%. ``attempts`` is how many attempts of each coach stand behind it.
    """

    coaches: tuple[str, ...]
    value: Floats
    covariance: Floats
    attempts: Floats
    level: float = LEVEL

    @property
    def sd(self) -> Floats:
        """Posterior standard deviation, one a coach."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def interval(self) -> tuple[Floats, Floats]:
        """Bounds that hold with probability ``level``, one a coach."""
        half = reach(self.level) * self.sd
        return self.value - half, self.value + half

    def centred(self) -> "Severities":
        """The same against the average coach, each coach counting once.

        Shown to people, severities mean this: what all coaches share is the skills' difficulty.
        """
        size = len(self.coaches)
        centre = np.eye(size) - 1 / max(size, 1)
        cover = centre @ self.covariance @ centre.T
        return replace(self, value=centre @ self.value, covariance=cover)

    def difference(self, one: int, other: int) -> tuple[float, float]:
        """How much stricter ``one`` is than ``other``, in logits, and its standard deviation."""
        cover = self.covariance
        variance = cover[one, one] + cover[other, other] - 2 * cover[one, other]
        return float(self.value[one] - self.value[other]), float(np.sqrt(max(variance, 0.0)))


@dataclass(frozen=True)
class CheckTogether:
    """Two coaches and what is known of how alike they judge.

    ``double_checks`` they have, ``athletes`` that both have checked, ``difference`` in severity
    (``one`` less ``other``, logits) and its ``sd``; ``p_apart``: probability that they differ by
    more than ``apart`` logits; ``expected_gap``: the expected size of the difference, by which the
    pairs are ranked. It is large where two coaches differ, and where nobody can tell yet.
    """

    one: str
    other: str
    double_checks: int
    athletes: int
    difference: float
    sd: float
    apart: float
    p_apart: float
    expected_gap: float


def severities(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    pauses: Pauses | None = None,
    prior_sd: float = SEVERITY_SD,
) -> Severities:
    """Estimate the severity of every coach of ``log``; ``tiers`` has an entry an athlete.

    Newton steps on the prequential log-likelihood plus the normal prior of ``prior_sd`` (infinite:
    no prior), from the calibrated severities on. What each attempt was expected to show given all
    before it leaves scores that do not correlate, so the information is the sum of their outer
    products (Berndt, Hall, Hall & Hausman 1974, Ann. Econ. Soc. Meas. 3:653-665); tries of one
    child on one day are not counted as independent. Difficulties, help gaps and spreads are taken
    as known. Costs two replays a coach and step; long logs are thinned by whole athletes.
    """
    used = thin(log, MOST_REPLAYED)
    tries = np.bincount(used.coach[used.coach != UNKNOWN], minlength=len(log.coaches))
    at = np.array([parameters.severity.get(code, 0.0) for code in log.coaches])
    information = np.diag(np.full(len(at), prior_sd**-2.0))
    question = _Question(catalogue, tiers, used, parameters, pauses)
    for _ in range(MOST_STEPS):
        scores = question.scores(at)
        information = scores.T @ scores + np.diag(np.full(len(at), prior_sd**-2.0))
        information += 1e-9 * np.eye(len(at))
        step = np.linalg.solve(information, scores.sum(axis=0) - at / prior_sd**2)
        at = at + np.clip(step, -1.0, 1.0)
        if np.abs(step).max(initial=0.0) < SETTLED:
            break
    return Severities(log.coaches, at, np.linalg.inv(information), tries.astype(np.float64))


def who_should_check_together(
    log: Log, found: Severities, apart: float = 0.5
) -> tuple[CheckTogether, ...]:
    """Every pair of coaches, the pair first whose difference is expected to be largest.

    The expectation is over what is not known, so a pair that never saw the same children ranks
    above one known to be alike. Ties go by the fewest double checks, then by name.
    """
    pairs = double_checks(log)
    both = np.sort(np.stack([log.coach[pairs.first], log.coach[pairs.second]]), axis=0)
    checked = [set(log.athlete[log.coach == coach].tolist()) for coach in range(len(log.coaches))]
    rows = []
    for one, other in combinations(range(len(log.coaches)), 2):
        difference, sd = found.difference(one, other)
        rows.append(
            CheckTogether(
                one=log.coaches[one],
                other=log.coaches[other],
                double_checks=int(((both[0] == one) & (both[1] == other)).sum()),
                athletes=len(checked[one] & checked[other]),
                difference=difference,
                sd=sd,
                apart=apart,
                p_apart=_p_apart(difference, sd, apart),
                expected_gap=_expected_gap(difference, sd),
            )
        )
    return tuple(
        sorted(rows, key=lambda r: (-round(r.expected_gap, 9), r.double_checks, r.one, r.other))
    )


@dataclass(frozen=True)
class _Question:
    """The log likelihood of every attempt as a function of severities."""

    catalogue: Catalogue
    tiers: Sequence[int]
    log: Log
    parameters: Parameters
    pauses: Pauses | None

    def log_chance(self, severity: Floats) -> Floats:
        told = dict(zip(self.log.coaches, (float(value) for value in severity), strict=True))
        until = float(self.log.when.max(initial=0.0))
        parameters = replace(self.parameters, severity=told)
        run = replay(self.catalogue, self.tiers, self.log, parameters, until, self.pauses)
        return run.log_chance

    def scores(self, at: Floats) -> Floats:
        """Slope of each attempt's log chance in each severity, shape (attempts, coaches)."""
        slopes = np.zeros((len(self.log), len(at)))
        for coach in range(len(at)):
            shift = np.zeros(len(at))
            shift[coach] = STEP
            ahead, behind = self.log_chance(at + shift), self.log_chance(at - shift)
            slopes[:, coach] = (ahead - behind) / (2 * STEP)
        return slopes


def _p_apart(difference: float, sd: float, apart: float) -> float:
    """Probability that a normal lies beyond ``apart`` on either side of zero."""
    if sd == 0:
        return float(abs(difference) > apart)
    return float(ndtr((difference - apart) / sd) + ndtr((-difference - apart) / sd))


def _expected_gap(difference: float, sd: float) -> float:
    """Mean size of a normal: the folded normal (Leone et al. 1961, Technometrics 3:543-550)."""
    if sd == 0:
        return abs(difference)
    z = difference / sd
    density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    return float(2 * sd * density + difference * (1 - 2 * ndtr(-z)))
