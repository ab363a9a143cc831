"""What a report card comes down to: may the tool be relied on here, and if not, why not.

A good card must not be had cheaply, and a bad one must say so.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import ceil

from progress.engine.report_card import FEWEST, Marks, ReportCard
from progress.engine.scores import CurvePoint

LEAST_JUDGED = 200  # attempts; with fewer a share of 80% is not known to five points
LEAST_LEARNT = 100  # attempts before the first judged day
USUAL_SHARE = 0.4  # of a log that is judged
LEANS_BY = 0.02  # mean difference of said and seen below which it leans neither way
OFF_BY = 0.05  # mean gap between said and seen that a coach would notice
BY_LUCK = 0.05  # a gap that luck alone makes as seldom as this is not called luck
FINEST = 0.005  # how finely the simulated perfect engines tell luck from a gap
SPOKEN_OF = 0.80  # the chance that the plain sentence is about, if there are tries enough
# The plainest first. Each knows what the engine knows at the start of a day.
YARDSTICKS = ("base_rate", "running_rate", "elo", "logistic")


class Trust(StrEnum):
    """How far the tool's numbers may be relied on in this gym."""

    TOO_LITTLE = "too_little"
    RELY = "rely"
    CARE = "care"
    DO_NOT = "do_not"


class Fit(StrEnum):
    """How what was said agrees with what was seen: as well as luck allows, a little off, off."""

    AS_SAID = "as_said"
    A_LITTLE_OFF = "a_little_off"
    OFF = "off"


@dataclass(frozen=True)
class Part:
    """One ladder or tier with its marks; ``fit`` is stricter than over all, as there are many."""

    key: str | int
    marks: Marks
    fit: Fit


@dataclass(frozen=True)
class Verdict:
    """What the card comes down to.

    ``usual``: the line of the curve for the plain sentence. ``worst``: the line furthest off of
    those that do not fit, where luck does not explain all of it. ``says_too_much``: whether it says
    more than is seen on average, or less (False); None where it leans neither way. ``better``: by
    yardstick True where the engine is surely better, False where surely worse, None where it is
    too close to say.
    """

    trust: Trust
    fit: Fit | None = None
    usual: CurvePoint | None = None
    worst: CurvePoint | None = None
    says_too_much: bool | None = None
    better: tuple[tuple[str, bool | None], ...] = ()
    ladders: tuple[Part, ...] = ()
    tiers: tuple[Part, ...] = ()

    @property
    def beaten_by(self) -> tuple[str, ...]:
        """Yardsticks that surely do better than the engine."""
        return tuple(name for name, better in self.better if better is False)

    @property
    def too_close_to(self) -> tuple[str, ...]:
        """Yardsticks of which nobody can say which is better."""
        return tuple(name for name, better in self.better if better is None)


def judge_card(card: ReportCard | None) -> Verdict:
    """Sum the card up; too little where there is no card or hardly anything was judged."""
    if card is None or card.overall.attempts < LEAST_JUDGED:
        return Verdict(Trust.TOO_LITTLE)
    fit = fit_of(card.overall)
    better = tuple((name, card.against[name].better) for name in YARDSTICKS if name in card.against)
    parts = len(card.by_ladder) + len(card.by_tier)
    return Verdict(
        trust=_trust(fit, [answer for _, answer in better]),
        fit=fit,
        usual=_usual(card.overall.curve),
        worst=None if fit is Fit.AS_SAID else _worst(card.overall.curve),
        says_too_much=_leans(card.overall),
        better=better,
        ladders=tuple(Part(key, m, fit_of(m, parts)) for key, m in card.by_ladder.items()),
        tiers=tuple(Part(key, m, fit_of(m, parts)) for key, m in card.by_tier.items()),
    )


def fit_of(marks: Marks, of_many: int = 1) -> Fit:
    """How well said and seen agree. One of ``of_many`` parts is called off less readily."""
    found = marks.calibration
    if found is None or found.p >= max(BY_LUCK / max(of_many, 1), FINEST):
        return Fit.AS_SAID
    return Fit.OFF if found.error >= OFF_BY else Fit.A_LITTLE_OFF


def more_needed(*, learnt: int, judged: int) -> int:
    """About how many more attempts it takes before a card says anything; 0 where it does.

    New attempts are taken to fall on judged days in the share that they did so far.
    """
    if learnt >= LEAST_LEARNT and judged >= LEAST_JUDGED:
        return 0
    total = learnt + judged
    share = judged / total if learnt and judged else USUAL_SHARE
    enough = max(LEAST_JUDGED / share, LEAST_LEARNT / (1 - share))
    return max(1, ceil(enough) - total)


def _trust(fit: Fit, better: list[bool | None]) -> Trust:
    if fit is Fit.OFF or False in better:
        return Trust.DO_NOT
    return Trust.RELY if better and all(better) else Trust.CARE


def _leans(marks: Marks) -> bool | None:
    over = marks.said - marks.seen
    return over > 0 if abs(over) >= LEANS_BY else None


def _usual(curve: tuple[CurvePoint, ...]) -> CurvePoint | None:
    """The line nearest SPOKEN_OF with tries enough, or the one with the most."""
    enough = [point for point in curve if point.attempts >= FEWEST]
    if enough:
        return min(enough, key=lambda point: abs(point.said - SPOKEN_OF))
    return max(curve, key=lambda point: point.attempts, default=None)


def _worst(curve: tuple[CurvePoint, ...]) -> CurvePoint | None:
    off = [point for point in curve if point.attempts >= FEWEST and not point.fits]
    return max(off, key=lambda point: abs(point.said - point.seen), default=None)
