"""A coach or lead opens one athlete: ladders, readiness, ability over time, recent attempts."""

from dataclasses import dataclass
from datetime import date

import numpy as np

from progress.engine.answers import Estimate, NextCheck, Readiness
from progress.engine.replay import trace
from progress.models import Athlete, Attempt, Hold, Ladder, Skill
from progress.usecases.engine_inputs import end_of
from progress.usecases.know_athletes import Known, know_athletes

RECENT = 20
Z90 = 1.6448536  # 90% of a normal lies within this many sds


@dataclass(frozen=True)
class Rung:
    """One skill on a ladder, with what is known of it."""

    skill: Skill
    estimate: Estimate


@dataclass(frozen=True)
class LadderPicture:
    """A ladder with its rungs, easiest first."""

    ladder: Ladder
    rungs: tuple[Rung, ...]


@dataclass(frozen=True)
class AbilityHistory:
    """General ability over time in logits, with a 90% band, and the mean level of each tier."""

    days: tuple[date, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    tier_level: dict[int, float]


@dataclass(frozen=True)
class AthletePicture:
    """Everything the athlete page shows."""

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    ladders: tuple[LadderPicture, ...]
    history: AbilityHistory
    recent: tuple[Attempt, ...]
    checks: tuple[NextCheck, ...]


def see_athlete(*, athlete: Athlete, today: date) -> AthletePicture:
    """Put one athlete's page together as of the end of ``today``."""
    known = know_athletes(athletes=[athlete], today=today)
    recent = (
        Attempt.objects.standing()
        .filter(athlete=athlete, at__lt=end_of(today))
        .select_related("skill", "coach", "variant")[:RECENT]
    )
    return AthletePicture(
        athlete=athlete,
        readiness=known.readiness[0],
        holds=known.holds.in_force(athlete),
        ladders=ladders_of(known, 0),
        history=_history(known, athlete, today),
        recent=tuple(recent),
        checks=known.checks,
    )


def ladders_of(known: Known, row: int) -> tuple[LadderPicture, ...]:
    """The athlete's ladders in catalogue order."""
    rungs: dict[int, list[Rung]] = {}
    ladders: dict[int, Ladder] = {}
    for code, estimate in known.estimates(row).items():
        skill = known.skills[code]
        ladders[skill.ladder_id] = skill.ladder
        rungs.setdefault(skill.ladder_id, []).append(Rung(skill, estimate))
    return tuple(LadderPicture(ladders[pk], tuple(rungs[pk])) for pk in ladders)


def _history(known: Known, athlete: Athlete, today: date) -> AbilityHistory:
    parameters = known.picture.parameters
    moved = trace(
        known.picture.catalogue,
        athlete.tier_id,
        known.log,
        parameters,
        float(today.toordinal() + 1),
        known.holds.stretches([athlete]),
    )
    # The trace ends at the first moment after today; on the page that is still today.
    days = [min(int(day), today.toordinal()) for day in moved.days]
    reach = Z90 * np.sqrt(moved.variance)
    return AbilityHistory(
        days=tuple(date.fromordinal(day) for day in days),
        mean=tuple(float(value) for value in moved.mean),
        low=tuple(float(value) for value in moved.mean - reach),
        high=tuple(float(value) for value in moved.mean + reach),
        tier_level={tier: float(parameters.level(tier)) for tier in known.picture.catalogue.tiers},
    )
