"""How long athletes stay in a tier before they move up, counting those who have not yet.

An athlete still in the tier has told us only that it takes longer than so far: leaving such
athletes out, or taking their time as final, would make the programme look faster than it is.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from progress.engine.evidence import Flags
from progress.engine.outcomes import Floats, Ints
from progress.engine.proportions import LEVEL, reach


@dataclass(frozen=True)
class Curve:
    """The share of athletes not yet at the next tier, as a step function of time in the tier.

    Arrays have an entry for each time at which somebody reached it, rising: ``times``, how many
    were still ``at_risk`` just before, how many ``reached`` it then, ``still`` the share not there
    after it, its standard error ``se``, and bounds ``low`` and ``high``. Where ``still`` is 0 the
    error and bounds are not defined (nan). ``athletes`` and ``moved`` count everybody.
    """

    times: Floats
    at_risk: Ints
    reached: Ints
    still: Floats
    se: Floats
    low: Floats
    high: Floats
    athletes: int
    moved: int

    def still_at(self, time: float) -> float:
        """Share not there yet after ``time``; 1 before the first of them."""
        passed = int(np.searchsorted(self.times, time, side="right"))
        return 1.0 if passed == 0 else float(self.still[passed - 1])

    @property
    def gone(self) -> Floats:
        """Share that has reached the next tier, at ``times``."""
        return np.asarray(1.0 - self.still)

    def quantile(self, share: float) -> float | None:
        """The first time by which ``share`` have reached it; None where too few have so far."""
        if not 0 < share < 1:
            raise ValueError(f"a share lies between 0 and 1, not {share}")
        # Shares that should be equal differ in the last digit.
        return self._first(self.still <= 1 - share + 1e-12)

    @property
    def median(self) -> float | None:
        """The time by which half have reached it; None where fewer than half have."""
        return self.quantile(0.5)

    @property
    def median_interval(self) -> tuple[float | None, float | None]:
        """Bounds of the median: where the bounds of the curve pass one half; None is open.

        Brookmeyer & Crowley 1982, Biometrics 38:29-41.
        """
        low = self._first((self.low <= 0.5) | np.isnan(self.low))
        high = self._first((self.high <= 0.5) & ~np.isnan(self.high))
        return low, high

    def _first(self, there: Flags) -> float | None:
        places = np.flatnonzero(there)
        return float(self.times[places[0]]) if len(places) else None


def time_to_tier(
    times: Floats, reached: Flags, entered: Floats | None = None, level: float = LEVEL
) -> Curve:
    """Product-limit curve over athletes: their ``times`` in the tier and whether they moved up.

    An athlete who has not moved up (still there, or left the programme) was followed for so long
    and is at risk up to and including that time. ``entered``: time in the tier at which an athlete
    came under observation (records that begin later than the tier), 0 where None; the athlete is
    at risk after that. ValueError for negative times or arrays of different length.

    Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457-481; Greenwood's standard error (1926); bounds
    by the log of minus the log of the curve, which stay within 0 and 1 (Kalbfleisch & Prentice
    1980, The Statistical Analysis of Failure Time Data).
    """
    time, moved = np.asarray(times, dtype=float), np.asarray(reached, dtype=bool)
    begin = np.zeros(len(time)) if entered is None else np.asarray(entered, dtype=float)
    _refuse(time, moved, begin, late=entered is not None)
    steps, events = np.unique(time[moved], return_counts=True)
    left = np.searchsorted(np.sort(time), steps, side="left")
    # Those under observation from the start count as there from before the first moment.
    begin = np.where(begin > 0, begin, -np.inf)
    at_risk = np.searchsorted(np.sort(begin), steps, side="left") - left
    still = np.cumprod(1 - events / at_risk)
    with np.errstate(divide="ignore", invalid="ignore"):
        spread = np.sqrt(np.cumsum(events / (at_risk * (at_risk - events).astype(float))))
        se = still * spread
        power = np.exp(reach(level) * spread / np.log(still))
        low, high = still ** (1 / power), still**power
    nobody = still <= 0
    for values in (se, low, high):
        values[nobody] = np.nan
    counts = (at_risk.astype(np.int64), events.astype(np.int64))
    return Curve(steps, *counts, still, se, low, high, len(time), int(moved.sum()))


@dataclass(frozen=True)
class LogRank:
    """Whether groups differ at all: ``chi_square`` on ``freedom`` degrees of freedom."""

    chi_square: float
    freedom: int
    p: float


def by_group(
    groups: Ints,
    count: int,
    times: Floats,
    reached: Flags,
    entered: Floats | None = None,
    level: float = LEVEL,
) -> tuple[Curve, ...]:
    """A curve for each of ``count`` groups; ``groups`` has the place of an athlete's group.

    A group with nobody in it has a curve without steps, and no median.
    """
    time, moved, begin = np.asarray(times), np.asarray(reached), entered
    return tuple(
        time_to_tier(
            time[groups == one],
            moved[groups == one],
            None if begin is None else np.asarray(begin)[groups == one],
            level,
        )
        for one in range(count)
    )


def log_rank(groups: Ints, times: Floats, reached: Flags) -> LogRank | None:
    """Compare the curves of all groups that have somebody in them; all under observation from 0.

    None where nothing can be compared. Mantel 1966, Cancer Chemother. Rep. 50:163-170. A small p
    says that groups differ by more than luck, not why: children are not dealt into classes.
    """
    names, place = np.unique(groups, return_inverse=True)
    time, moved = np.asarray(times, dtype=float), np.asarray(reached, dtype=bool)
    steps = np.unique(time[moved])
    member = np.eye(len(names))[place]
    at_risk = (time[None, :] >= steps[:, None]) @ member
    events = ((time[None, :] == steps[:, None]) & moved) @ member
    total, happened = at_risk.sum(axis=1), events.sum(axis=1)
    share = at_risk / total[:, None]
    excess = (events - share * happened[:, None]).sum(axis=0)[1:]
    spread = happened * (total - happened) / np.maximum(total - 1, 1)
    cover = np.einsum("t,ti,ij->ij", spread, share, np.eye(len(names)))
    cover = (cover - np.einsum("t,ti,tj->ij", spread, share, share))[1:, 1:]
    freedom = int(np.linalg.matrix_rank(cover)) if cover.size else 0
    if freedom == 0:
        return None
    chi_square = float(excess @ np.linalg.pinv(cover) @ excess)
    return LogRank(chi_square, freedom, float(chdtrc(freedom, chi_square)))


def _refuse(time: Floats, moved: Flags, begin: Floats, *, late: bool) -> None:
    if not len(time) == len(moved) == len(begin):
        raise ValueError("times, moves and entries have one entry an athlete each")
    if np.any(~np.isfinite(time)) or np.any(time < 0) or np.any(begin < 0):
        raise ValueError("times in a tier are numbers from 0 on")
    if late and np.any((begin >= time) & (begin > 0)):
        raise ValueError("an athlete comes under observation before the time ends")
