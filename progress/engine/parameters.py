"""Everything the engine has learnt from a gym's log, or assumes before it has a log."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from progress.engine.outcomes import Floats
from progress.engine.terms import Catalogue

VERSION = "2"  # raised whenever the same log could give another answer

# Before there is a log. All are proposals in logits, wide enough to be overruled by a few dozen
# attempts: a tier up is about this much harder, a child a tier up about this much abler, and a
# step of a variant about this much.
TIER_GAP = 1.5
STARTING_EDGE = 0.4
STEP_GAP = 0.8
HELP_GAP = 1.5
GENERAL_SD = 1.0
LADDER_SD = 0.6
SKILL_SD = 0.6
DIFFICULTY_SD = 0.8
DRIFT = 0.006
GROWTH = 0.005


@dataclass(frozen=True)
class Parameters:
    """What the filter runs on. All abilities and difficulties are in logits.

    ``tier_level``: mean ability of athletes by their tier. ``general_sd``, ``ladder_sd`` and
    ``skill_sd``: spreads of general ability, ladder deviation and skill residual. ``drift``:
    variance a day that ability gains by wandering, ``growth``: mean gain a day while training.
    ``difficulty``, ``difficulty_sd``, ``help_gap``: one for each skill of the catalogue, in its
    order. ``severity`` by coach code, ``variant`` (offset from its skill) by variant code.
    """

    tier_level: Mapping[int, float]
    difficulty: Floats
    difficulty_sd: Floats
    help_gap: Floats
    severity: Mapping[str, float]
    variant: Mapping[str, float]
    general_sd: float = GENERAL_SD
    ladder_sd: float = LADDER_SD
    skill_sd: float = SKILL_SD
    drift: float = DRIFT
    growth: float = GROWTH

    @classmethod
    def before_any_log(
        cls, catalogue: Catalogue, offsets: Mapping[str, float] | None = None
    ) -> "Parameters":
        """Tier-based starting values, so that a new gym works from the first day."""
        tiers = np.array([skill.tier for skill in catalogue.skills], dtype=float)
        return cls(
            tier_level=prior_levels(catalogue),
            difficulty=(tiers - 1) * TIER_GAP,
            difficulty_sd=np.full(len(tiers), DIFFICULTY_SD),
            help_gap=np.full(len(tiers), HELP_GAP),
            severity={},
            variant=dict(offsets or {}),
        )

    def level(self, tier: int) -> float:
        """Mean ability in ``tier``; a tier never seen continues the line."""
        if tier in self.tier_level:
            return self.tier_level[tier]
        return (tier - 1) * TIER_GAP + STARTING_EDGE

    def as_json(self) -> dict[str, Any]:
        """These parameters as plain JSON values; read back with ``from_json``."""
        values = asdict(self)
        for name in ("difficulty", "difficulty_sd", "help_gap"):
            values[name] = [float(value) for value in values[name]]
        values["tier_level"] = {str(tier): level for tier, level in self.tier_level.items()}
        return values

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "Parameters":
        """Read parameters stored by ``as_json``."""
        values = dict(stored)
        for name in ("difficulty", "difficulty_sd", "help_gap"):
            values[name] = np.array(values[name], dtype=float)
        values["tier_level"] = {int(tier): level for tier, level in values["tier_level"].items()}
        return cls(**values)


def prior_levels(catalogue: Catalogue) -> dict[int, float]:
    """Mean ability by tier before there is a log."""
    return {tier: (tier - 1) * TIER_GAP + STARTING_EDGE for tier in catalogue.tiers}
