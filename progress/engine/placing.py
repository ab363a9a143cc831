"""Which skills sit in the wrong tier by the gym's own log, and what moving them would change.

Difficulty is not the only ground for a tier: a safety skill may rightly come early however hard it
is. So this gives the figures, and a person places the skill.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import expit

from progress.engine.log import Log
from progress.engine.outcomes import Floats
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture
from progress.engine.proportions import LEVEL, reach
from progress.engine.readiness import readiness
from progress.engine.terms import Catalogue, Decision

LEAST_ATTEMPTS = 30
LEAST_ATHLETES = 10
SURE_FROM = 0.90
DRAWS = 4000


@dataclass(frozen=True)
class Placed:
    """A skill's difficulty against the tiers around it, in logits.

    ``low`` and ``high`` bound the difficulty. ``p_harder``: probability that the skill is harder
    than the median skill of the tier above; ``p_easier``: that it is easier than the median of the
    tier below; None where there is no such tier. ``chance`` is that of an average athlete of the
    skill's tier. ``enough``: tried often enough to say; ``points_to``: the tier that the figures
    point to, None where the place agrees or nobody can say.
    """

    skill: str
    ladder: str
    tier: int
    difficulty: float
    low: float
    high: float
    p_harder: float | None
    p_easier: float | None
    chance: float
    attempts: int
    athletes: int
    enough: bool
    points_to: int | None


@dataclass(frozen=True)
class DecisionChange:
    """An athlete whose readiness would be another with the other catalogue."""

    athlete: str
    tier: int
    before: Decision
    after: Decision
    p_before: float
    p_after: float


def placing(
    catalogue: Catalogue, log: Log, parameters: Parameters, seed: int = 1, level: float = LEVEL
) -> tuple[Placed, ...]:
    """Place every skill, in the catalogue's order.

    Difficulties are taken as independent normals around their calibrated values; medians of tiers
    are drawn along with them (DRAWS draws from ``seed``), so the doubt about the neighbours
    counts. The tier-based prior is part of the calibrated values: it pulls a skill towards its
    present tier, so a skill tried seldom is not called misplaced.
    """
    half = reach(level) * parameters.difficulty_sd
    harder, easier = _against_neighbours(catalogue, parameters, seed)
    attempts = np.bincount(log.skill, minlength=len(catalogue.skills))
    pairs = np.unique(np.stack([log.skill, log.athlete], axis=1), axis=0)
    athletes = np.bincount(pairs[:, 0], minlength=len(catalogue.skills))
    found = []
    for column, skill in enumerate(catalogue.skills):
        up, down = catalogue.next_tier(skill.tier), tier_below(catalogue, skill.tier)
        p_harder = None if up is None else float(harder[column])
        p_easier = None if down is None else float(easier[column])
        enough = bool(attempts[column] >= LEAST_ATTEMPTS and athletes[column] >= LEAST_ATHLETES)
        difficulty = float(parameters.difficulty[column])
        found.append(
            Placed(
                skill=skill.code,
                ladder=skill.ladder,
                tier=skill.tier,
                difficulty=difficulty,
                low=difficulty - float(half[column]),
                high=difficulty + float(half[column]),
                p_harder=p_harder,
                p_easier=p_easier,
                chance=float(expit(parameters.level(skill.tier) - difficulty)),
                attempts=int(attempts[column]),
                athletes=int(athletes[column]),
                enough=enough,
                points_to=_points_to(enough, (p_harder, up), (p_easier, down)),
            )
        )
    return tuple(found)


def tier_below(catalogue: Catalogue, tier: int) -> int | None:
    """The tier below, or None at the bottom."""
    below = [number for number in catalogue.tiers if number < tier]
    return below[-1] if below else None


def _against_neighbours(
    catalogue: Catalogue, parameters: Parameters, seed: int
) -> tuple[Floats, Floats]:
    """Probability of being harder than the median above and easier than that below, by skill.

    nan where there is no such tier.
    """
    dice = np.random.default_rng(seed)
    size = (DRAWS, len(catalogue.skills))
    drawn = dice.normal(parameters.difficulty, parameters.difficulty_sd, size)
    tier_of = np.array([skill.tier for skill in catalogue.skills])
    median = {tier: np.median(drawn[:, tier_of == tier], axis=1) for tier in catalogue.tiers}
    harder, easier = np.full(size[1], np.nan), np.full(size[1], np.nan)
    for tier in catalogue.tiers:
        mine = tier_of == tier
        up, down = catalogue.next_tier(tier), tier_below(catalogue, tier)
        if up is not None:
            harder[mine] = (drawn[:, mine] > median[up][:, None]).mean(axis=0)
        if down is not None:
            easier[mine] = (drawn[:, mine] < median[down][:, None]).mean(axis=0)
    return harder, easier


def _points_to(enough: bool, *sides: tuple[float | None, int | None]) -> int | None:
    for p, tier in sides:
        if enough and p is not None and p >= SURE_FROM:
            return tier
    return None


def retiered(catalogue: Catalogue, moves: Mapping[str, int]) -> Catalogue:
    """The catalogue with these skills (by code) in other tiers; KeyError for an unknown code."""
    for code in moves:
        catalogue.skill(code)
    skills = tuple(
        replace(skill, tier=moves.get(skill.code, skill.tier)) for skill in catalogue.skills
    )
    return Catalogue(skills, catalogue.ladders)


def decisions_changed(
    told: Picture, other: Catalogue, age_floors: Mapping[int, float] | None = None
) -> tuple[DecisionChange, ...]:
    """Athletes whose readiness for the next tier would be another under ``other``.

    What is known of athletes and skills stays as it is; only what a tier asks for changes. So
    ``other`` may differ in tiers, in what is required and in standards. ValueError where skills,
    ladders, needs or gates differ, as the evidence would have to be gathered anew.
    """
    same = [(s.code, s.ladder, s.needs, s.gate) for s in told.catalogue.skills]
    if [(s.code, s.ladder, s.needs, s.gate) for s in other.skills] != same:
        raise ValueError("only tiers, standards and what is required may differ")
    if told.catalogue.ladders != other.ladders:
        raise ValueError("the ladders must be the same, in the same order")
    before = readiness(told, age_floors)
    after = readiness(replace(told, catalogue=other), age_floors)
    return tuple(
        DecisionChange(a.athlete, a.tier, a.decision, b.decision, a.p_ready, b.p_ready)
        for a, b in zip(before, after, strict=True)
        if a.decision is not b.decision
    )
