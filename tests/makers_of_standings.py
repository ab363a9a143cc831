"""Stored answers of the engine for tests: what a board shows without anything being worked out."""

from typing import Any

from progress.models import Athlete, Standing
from tests.makers import TODAY


def make_standing(athlete: Athlete, decision: str = "building", **values: Any) -> Standing:
    """The answer for ``athlete`` in the tier they are in, worked out today."""
    values = {
        "decision": decision,
        "p_ready": 0.5,
        "tier": athlete.tier_id,
        "next_tier": athlete.tier_id + 1,
        "on_day": TODAY,
        "worked_out": 0,
        "basis": "b",
        "last_checked": TODAY,
        "reasons": ["1 of 2 skills of tier 1 secure"],
    } | values
    return Standing.objects.create(athlete=athlete, **values)
