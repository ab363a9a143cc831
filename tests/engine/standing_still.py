"""Made-up athletes of whom it is known who grew in the last weeks and who stood still."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from progress.engine.beliefs import SHARES
from progress.engine.log import Log, gather
from progress.engine.outcomes import ASSISTED, CLEAN, MISS
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue
from tests.simulated_gyms import CLASS_TIME, FIRST_DAY, TIER_GAP, TRY_TIME, ladder_catalogue

HELP_GAP, EDGE, GENERAL_SD, BELOW_SD = 1.5, 0.2, 0.7, 0.5


@dataclass(frozen=True)
class Growing:
    """How athletes are checked and grow; rates by the day, abilities in logits.

    Every second athlete gains nothing in the last ``still_days``; the others grow by ``growth``
    throughout. ``wander``: variance a day that abilities gain by wandering all the while.
    """

    athletes: int = 120
    weeks: int = 40
    still_days: int = 168
    growth: float = 0.006
    tries_weekly: int = 4
    wander: float = 0.0


@dataclass(frozen=True)
class GrownUp:
    """The log of such athletes; ``still`` marks those who stood still.

    ``gained``: what each truly gained in the last ``still_days``, wandering included, in logits
    as the mean over all skills.
    ``parameters``: what the gym was made with, as if long calibrated.
    """

    catalogue: Catalogue
    tiers: tuple[int, ...]
    log: Log
    on_day: int
    still: NDArray[np.bool_]
    gained: NDArray[np.float64]
    parameters: Parameters


def outcomes(x: NDArray[np.float64], dice: np.random.Generator) -> NDArray[np.int64]:
    """One result for each ability less difficulty, by the engine's own model."""
    roll = dice.random(len(x))
    return np.select([roll < expit(x), roll < expit(x + HELP_GAP)], [CLEAN, ASSISTED], MISS)


def parameters_of(
    catalogue: Catalogue, difficulty: NDArray[np.float64], how: Growing
) -> Parameters:
    """What a long calibration would come to."""
    return replace(
        Parameters.before_any_log(catalogue),
        tier_level={tier: (tier - 1) * TIER_GAP + EDGE for tier in range(1, 5)},
        difficulty=difficulty,
        difficulty_sd=np.full(len(difficulty), 0.1),
        help_gap=np.full(len(difficulty), HELP_GAP),
        general_sd=GENERAL_SD,
        ladder_sd=BELOW_SD,
        skill_sd=BELOW_SD,
        drift=max(how.wander, 0.001),
        growth=how.growth,
    )


def grow(seed: int, how: Growing) -> GrownUp:
    """Let the athletes train and be checked once a week."""
    dice = np.random.default_rng(seed)
    catalogue = ladder_catalogue(4, 4)
    tier_of = np.array([skill.tier for skill in catalogue.skills])
    difficulty = (tier_of - 1) * TIER_GAP + dice.normal(0, 0.4, len(tier_of))
    tiers = dice.integers(1, 4, how.athletes)
    still = np.arange(how.athletes) % 2 == 0
    general = (tiers - 1) * TIER_GAP + EDGE + dice.normal(0, GENERAL_SD, how.athletes)
    on_ladder = dice.normal(0, BELOW_SD, (how.athletes, 4))
    at_skill = dice.normal(0, BELOW_SD, (how.athletes, len(tier_of)))
    rows: list[tuple[str, str, float, int, str, str]] = []
    level = np.zeros((how.weeks + 1, how.athletes))
    for week in range(how.weeks):
        resting = still & (7 * (how.weeks - week) <= how.still_days)
        general = general + 7 * how.growth * ~resting
        for values, share in zip((general, on_ladder, at_skill), SHARES, strict=True):
            values += dice.normal(0, np.sqrt(how.wander * 7 * share), values.shape)
        ability = general[:, None] + on_ladder[:, list(catalogue.ladder_of)] + at_skill
        level[week + 1] = ability.mean(axis=1)
        for row in range(how.athletes):
            pool = np.flatnonzero(np.abs(tier_of - tiers[row]) <= 1)
            tried = dice.choice(pool, how.tries_weekly, replace=False)
            results = outcomes(ability[row, tried] - difficulty[tried], dice)
            for number, (skill, result) in enumerate(zip(tried, results, strict=True)):
                when = FIRST_DAY + 7 * week + CLASS_TIME + TRY_TIME * number
                code = catalogue.skills[skill].code
                rows.append((f"A{row:04d}", code, when, int(result), f"C{week % 2}", ""))
    names = [f"A{row:04d}" for row in range(how.athletes)]
    log = gather(catalogue, names, list(zip(*rows, strict=True)))
    made_with = parameters_of(catalogue, difficulty, how)
    on_day = FIRST_DAY + 7 * how.weeks - 1
    gained = level[-1] - level[how.weeks - how.still_days // 7]
    return GrownUp(catalogue, tuple(tiers.tolist()), log, on_day, still, gained, made_with)
