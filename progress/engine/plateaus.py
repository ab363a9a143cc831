"""Who has not gained for a while, said only where the evidence is enough to say so.

Six weeks of a few tries each cannot tell a child who stands still from one who grows as children
do. So for every athlete the shortest window that can is looked for, and where none can, the answer
is that nobody knows.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from progress.engine.evidence import Flags
from progress.engine.gains import Gains, gains
from progress.engine.log import Log
from progress.engine.outcomes import Floats, Ints
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses
from progress.engine.terms import Catalogue

# Days: six, twelve, twenty-four and thirty-six weeks, and a year. Where children are checked now
# and then, as most are, only the long ones can tell.
WINDOWS = (42, 84, 168, 252, 364)
LEAST_ATTEMPTS = 8
LEAST_GAIN = 0.25  # logits: from 80% clean to 84%, about the least a coach could notice
STUCK_BELOW = 0.10  # an athlete is called stuck when a gain has at most this probability
ENOUGH_POWER = 0.60


@dataclass(frozen=True)
class Standstill:
    """What the window says of one athlete's ability, over all or on one ``ladder``.

    ``gain`` and ``sd`` in logits over the last ``window_days``; ``p_gain`` is the probability of
    having gained more than ``asked``, ``power`` the chance that a child who gained nothing would
    be found with this evidence, from ``attempts`` in the window. ``enough``: the evidence can
    tell. ``stuck``: it can, and there hardly was a gain.
    """

    athlete: str
    ladder: str | None
    window_days: int
    gain: float
    sd: float
    asked: float
    p_gain: float
    power: float
    attempts: int
    enough: bool
    stuck: bool


@dataclass(frozen=True)
class Asking:
    """What counts as a gain, and how much evidence is asked for.

    ``windows``: days, rising. ``gain``: logits over a window that count as a gain; None for what
    athletes of this gym gain on average in it, LEAST_GAIN at least.
    """

    windows: tuple[int, ...] = WINDOWS
    gain: float | None = None
    least_attempts: int = LEAST_ATTEMPTS

    def __post_init__(self) -> None:
        if not self.windows or list(self.windows) != sorted(set(self.windows)):
            raise ValueError("windows are given in days from the shortest up")

    def over(self, found: Gains) -> float:
        """The gain asked for over the window of ``found``."""
        return max(found.expected, LEAST_GAIN) if self.gain is None else self.gain


def standstills(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    on_day: int,
    asking: Asking | None = None,
    pauses: Pauses | None = None,
) -> tuple[Standstill, ...]:
    """For every athlete of ``log`` an answer over all and one a ladder tried in the window.

    An answer's window is the shortest with evidence enough, chosen by how much is known and never
    by what it says; the longest where none has enough. A child who gains as much as is asked for
    is called stuck at most about once in ten times. ``tiers`` has an entry an athlete.
    """
    how = asking or Asking()
    looks = [
        _Look.at(gains(catalogue, tiers, log, parameters, on_day, days, pauses), how)
        for days in how.windows
    ]
    names: tuple[str | None, ...] = (None, *catalogue.ladders)
    found = []
    for row, athlete in enumerate(log.athletes):
        for column, ladder in enumerate(names):
            able = [look for look in looks if look.enough[row, column]]
            look = able[0] if able else looks[-1]
            if ladder is None or look.attempts[row, column] > 0:
                found.append(look.answer(row, column, athlete, ladder))
    return tuple(found)


@dataclass(frozen=True)
class _Look:
    """One window's answers; arrays of shape (athletes, 1 + ladders), over all first."""

    days: int
    asked: float
    mean: Floats
    sd: Floats
    attempts: Ints
    p_gain: Floats
    power: Floats
    least_attempts: int

    @classmethod
    def at(cls, found: Gains, how: Asking) -> "_Look":
        mean = np.column_stack([found.mean, found.ladder_mean])
        sd = np.column_stack([found.sd, found.ladder_sd])
        asked = how.over(found)
        return cls(
            days=found.window_days,
            asked=asked,
            mean=mean,
            sd=sd,
            attempts=np.column_stack([found.attempts, found.ladder_attempts]),
            p_gain=np.asarray(ndtr((mean - asked) / sd)),
            power=power_to_find(sd, found.prior_sd, found.expected, asked),
            least_attempts=how.least_attempts,
        )

    @property
    def enough(self) -> Flags:
        return (self.power >= ENOUGH_POWER) & (self.attempts >= self.least_attempts)

    def answer(self, row: int, column: int, athlete: str, ladder: str | None) -> Standstill:
        enough, p_gain = bool(self.enough[row, column]), float(self.p_gain[row, column])
        return Standstill(
            athlete=athlete,
            ladder=ladder,
            window_days=self.days,
            gain=float(self.mean[row, column]),
            sd=float(self.sd[row, column]),
            asked=self.asked,
            p_gain=p_gain,
            power=float(self.power[row, column]),
            attempts=int(self.attempts[row, column]),
            enough=enough,
            stuck=enough and p_gain < STUCK_BELOW,
        )


def power_to_find(sd: Floats, prior_sd: Floats, expected: float, asked: float) -> Floats:
    """Chance that somebody who gained nothing is called stuck, given the posterior ``sd``.

    With a share k = 1 - sd^2 / prior_sd^2 of the answer coming from the attempts, the posterior
    mean of a child without gain is normal around (1 - k) ``expected`` with sd sqrt(k) ``sd``.
    Broadcasts; 0 where the attempts say nothing.
    """
    told = np.clip(1 - np.square(sd / prior_sd), 0.0, 1.0)
    bar = asked + ndtri(STUCK_BELOW) * sd
    spread = np.sqrt(told) * sd
    away = bar - (1 - told) * expected
    return np.where(spread > 1e-9, ndtr(away / np.maximum(spread, 1e-9)), 0.0)
