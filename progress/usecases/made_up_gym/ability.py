"""What the made-up children can truly do, week by week, and how hard things truly are.

All in logits: P(clean) = s(ability - difficulty - severity), P(at least with help) the same with
the help gap added, s(x) = 1 / (1 + exp(-x)). A child has a general ability that grows, a
difference for each ladder and one for each skill. No page and no estimate ever reads these.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit

from progress.usecases.made_up_gym.people import ChildPlan
from progress.usecases.made_up_gym.scenario import WELL_CHECKED, Story
from progress.usecases.made_up_gym.year import Year, weeks_into_term

Floats = NDArray[np.float64]

TIER_STEP = 1.5
EARLY_EASIER = 0.9  # the small area's skills against the first tier
GATE_EASIER = 0.3  # gates are taught in every class
NEEDED_EASIER = 0.25  # for each skill that builds on it, up to MOST_NEEDED: it is done all day
MOST_NEEDED = 5
DIFFICULTY_SD = 0.35
LADDER_SD = 0.45
SKILL_SD = 0.4
HELP_GAP = (1.5, 0.15)  # mean and spread over skills
WEEKLY_GROWTH = (-3.5, 0.5)  # logits a week: mean and spread of the logarithm, median 0.03
WEEKLY_WOBBLE = 0.06
HOLIDAY_DIP = 0.4
WEEKS_TO_RECOVER = 3
# Ability less difficulty today at the one skill that holds a well-checked child back.
WEAK_EDGE = {Story.STUCK: -1.1, Story.NEARLY: 0.5}
STEADY_AT = 3.6  # how far above their tier the ready children stand


@dataclass(frozen=True)
class Truth:
    """How hard the skills truly are; arrays are in the order of ``skills``."""

    skills: tuple[Mapping[str, Any], ...]
    difficulty: Floats
    help_gap: Floats

    @cached_property
    def codes(self) -> list[str]:
        """Skill codes in order."""
        return [skill["code"] for skill in self.skills]

    @cached_property
    def place(self) -> dict[str, int]:
        """Skill code to its place in every array."""
        return {code: place for place, code in enumerate(self.codes)}

    @cached_property
    def tier(self) -> NDArray[np.int64]:
        """Tier of each skill."""
        return np.array([skill["tier"] for skill in self.skills])

    @cached_property
    def gate(self) -> NDArray[np.bool_]:
        """Which skills are gates."""
        return np.array([skill["gate"] for skill in self.skills])

    @cached_property
    def required(self) -> NDArray[np.bool_]:
        """Which skills are required."""
        return np.array([skill["required"] for skill in self.skills])

    @cached_property
    def early(self) -> NDArray[np.bool_]:
        """Which skills belong to the small area."""
        return np.array([skill["ladder"] == "EARLY" for skill in self.skills])

    @cached_property
    def minimum_age(self) -> Floats:
        """Youngest age in years for each skill."""
        return np.array([skill.get("minimum_age") or 0.0 for skill in self.skills])

    @cached_property
    def needs(self) -> NDArray[np.bool_]:
        """Row skill needs column skill."""
        matrix = np.zeros((len(self.skills), len(self.skills)), dtype=bool)
        for row, skill in enumerate(self.skills):
            for need in skill["needs"]:
                matrix[row, self.place[need]] = True
        return matrix

    @cached_property
    def needed_by(self) -> NDArray[np.int64]:
        """How many skills build directly on each skill, counted up to MOST_NEEDED."""
        return np.minimum(self.needs.sum(axis=0), MOST_NEEDED)

    def required_in(self, tier: int) -> list[int]:
        """Places of the skills required to leave a tier."""
        return np.flatnonzero(self.required & (self.tier == tier)).tolist()


def draw_truth(rng: np.random.Generator, skills: Sequence[Mapping[str, Any]]) -> Truth:
    """Draw how hard each skill truly is: a step for each tier, and some luck."""
    flat = np.zeros(len(skills))
    truth = Truth(tuple(skills), flat, flat)
    difficulty = TIER_STEP * (truth.tier - 1) - GATE_EASIER * truth.gate
    difficulty = difficulty - EARLY_EASIER * truth.early - NEEDED_EASIER * truth.needed_by
    difficulty = difficulty + rng.normal(0, DIFFICULTY_SD, len(skills))
    return Truth(tuple(skills), difficulty, rng.normal(*HELP_GAP, len(skills)))


@dataclass(frozen=True)
class Ability:
    """One child's true ability: ``general`` by teaching week, ``own`` by skill."""

    general: Floats
    own: Floats
    weak_at: int | None = None

    def edge(self, truth: Truth, week: int) -> Floats:
        """Ability minus difficulty for every skill in one week."""
        return self.general[week] + self.own - truth.difficulty

    def chance(self, truth: Truth, week: int) -> Floats:
        """Chance of a clean try at every skill, judged by a coach of middling severity."""
        return np.asarray(expit(self.edge(truth, week)))

    def working_tier(self, week: int, tier: int) -> int:
        """The tier a child worked in that week, who is now in ``tier``."""
        return int(np.clip((self.general[week] + 0.3) // TIER_STEP + 1, 1, tier))


def draw_ability(rng: np.random.Generator, truth: Truth, child: ChildPlan, year: Year) -> Ability:
    """Draw a child's year: where they stand today, and the way that led there."""
    ladders = sorted({skill["ladder"] for skill in truth.skills})
    by_ladder = dict(zip(ladders, rng.normal(0, LADDER_SD, len(ladders)), strict=True))
    own = np.array([by_ladder[skill["ladder"]] for skill in truth.skills])
    own = own + rng.normal(0, SKILL_SD, len(own))
    today = draw_standing(rng, child)
    general = today - draw_way(rng, child, year)
    if child.story not in WELL_CHECKED:
        return Ability(general, own)
    own = np.maximum(own, truth.difficulty - TIER_STEP * (truth.tier - 1) - 0.2)
    if child.story not in WEAK_EDGE:
        return Ability(general, own)
    weak = int(rng.choice(weak_spots(truth, child)))
    own[weak] = WEAK_EDGE[child.story] - today + truth.difficulty[weak]
    return Ability(general, own, weak_at=weak)


def draw_standing(rng: np.random.Generator, child: ChildPlan) -> float:
    """Draw a child's general ability today."""
    if child.class_.small_area:
        return float(rng.uniform(-1.2, 0.9))
    base = TIER_STEP * (child.tier - 1)
    if child.story in WELL_CHECKED:
        return base + STEADY_AT
    if child.story is Story.PLATEAU:
        return base + float(rng.uniform(0.6, 1.0))
    if child.story is Story.NEW:
        return float(rng.uniform(-0.6, 0.8))
    return base + 2.9 * float(rng.beta(1.5, 1.6))


def draw_way(rng: np.random.Generator, child: ChildPlan, year: Year) -> Floats:
    """How far below today's standing the child was in each week: growth, wobble, holidays."""
    weeks = np.arange(len(year.mondays))
    growth = 0.0 if child.story is Story.PLATEAU else rng.lognormal(*WEEKLY_GROWTH)
    wobble = np.cumsum(rng.normal(0, WEEKLY_WOBBLE, len(weeks)))
    into_term = np.array([weeks_into_term(week) for week in weeks.tolist()])
    rusty = np.clip(1 - into_term / WEEKS_TO_RECOVER, 0, 1) * (weeks > into_term)
    behind = growth * (weeks[-1] - weeks) + (wobble[-1] - wobble) + HOLIDAY_DIP * rusty
    return np.asarray(behind, dtype=float)


def weak_spots(truth: Truth, child: ChildPlan) -> list[int]:
    """Required skills of the child's tier that no other of them needs: gates for the stuck."""
    required = truth.required_in(child.tier)
    needed = truth.needs[required].sum(axis=0)
    gates = child.story is Story.STUCK
    return [place for place in required if truth.gate[place] == gates and needed[place] == 0]
