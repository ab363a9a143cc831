"""Every number a programme lead may tune, named, with the reason for its default.

None of these is a published safety figure. They are proposals and common practice; where a source
stands behind one, it is named. A stored decision keeps the version of the rules that made it.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True)
class HeightRule:
    """Feet planned above ``above_m`` metres ask for every skill in ``needs``."""

    above_m: float
    needs: tuple[str, ...]


@dataclass(frozen=True)
class AgeRatio:
    """Up to and including this age in completed years: most children for one adult."""

    up_to_age: int
    children_per_adult: int

    def __post_init__(self) -> None:
        if self.children_per_adult < 1:
            raise ValueError(f"children per adult must be at least 1: {self.children_per_adult}")


# NSPCC Child Protection in Sport Unit, thecpsu.org.uk (page read). Its rows 0-2 and 2-3 share
# the second birthday; the stricter row is taken for all of that year.
CPSU_RATIOS = (AgeRatio(2, 3), AgeRatio(3, 4), AgeRatio(8, 6), AgeRatio(12, 8), AgeRatio(18, 10))


@dataclass(frozen=True)
class Rules:
    """The tunable rules; a new gym starts from these defaults.

    Times are days, heights metres, chances 0-1. ``fresh_days``: after nine months of gymnastics
    some skills were clearly worse two months later (Kezic 2023), so evidence older than 8 weeks
    no longer counts. The target band is a design choice, not a law: the often quoted 85% was
    derived for two-choice tasks. Height rules: falls from above 1.0 m had about three times the
    odds of an arm fracture (Sherker 2005); 0.6 m is where German accident insurers ask for fall
    protection in nurseries.
    """

    version: int = 1
    # Secure: how sure the engine must be that the chance is at the standard, and the floor of
    # evidence that a coach can recite. The floor is light because children are checked seldom.
    secure_confidence: float = 0.70
    nearly_confidence: float = 0.30
    gate_clean_in_a_row: int = 5
    gate_days: int = 2
    gate_coaches: int = 2
    clean_attempts: int = 2
    clean_days: int = 2
    fresh_days: int = 56
    # Readiness: where p_ready calls an athlete ready or building.
    ready_at: float = 0.65
    building_at: float = 0.25
    # Variants: the band of chance to aim for, and its centre.
    target_low: float = 0.75
    target_high: float = 0.90
    target_centre: float = 0.85
    # Most children on one variant while their group is on the loop, for each lane: the eight
    # at one station that gymnastics guidance in the UK names (seen second-hand on a club's page).
    children_per_lane: int = 8
    # How far a coach's "gentler" or "bolder" moves the target band.
    challenge_shift: float = 0.10
    # Standing in line: warn below this share of time on a station and above these seconds of
    # waiting (common practice, no source); walking between two stations takes so many seconds.
    least_active_share: float = 0.40
    longest_wait: float = 60.0
    walk_seconds: float = 5.0
    # Adults: never fewer than this, and one for so many children of the youngest child's age. A
    # sport's own guidance and local rules win over these.
    least_adults: int = 2
    ratios: tuple[AgeRatio, ...] = CPSU_RATIOS
    # A mat not looked over for so many days is worth a look: a proposal of this project.
    mat_check_days: int = 7
    easing_days: int = 14
    absence_days: int = 21
    # Checks: how many a coach can do in a class, most for one athlete, and when a child counts
    # as not seen.
    checks_per_class: int = 12
    checks_per_athlete: int = 3
    unseen_days: int = 21
    height_rules: tuple[HeightRule, ...] = (
        HeightRule(0.6, ("LAND-2", "DOWN-1")),
        HeightRule(1.0, ("LAND-2", "DOWN-1", "LAND-3", "FALL-2")),
    )

    def __post_init__(self) -> None:
        chances = ("secure_confidence", "nearly_confidence", "ready_at", "building_at")
        bands = ("target_low", "target_high", "target_centre", "least_active_share")
        for name in (*chances, *bands):
            if not 0 < getattr(self, name) < 1:
                raise ValueError(f"{name} must lie between 0 and 1, not {getattr(self, name)}")
        for low, high in (
            ("nearly_confidence", "secure_confidence"),
            ("building_at", "ready_at"),
            ("target_low", "target_centre"),
            ("target_centre", "target_high"),
        ):
            if getattr(self, low) >= getattr(self, high):
                raise ValueError(f"{low} must be below {high}")
        counts = [f.name for f in fields(self) if f.type in (int, "int") and f.name != "version"]
        for name in counts:
            if getattr(self, name) < 1:
                raise ValueError(f"{name} must be at least 1, not {getattr(self, name)}")

        ages = [ratio.up_to_age for ratio in self.ratios]
        if not ages or ages != sorted(set(ages)):
            raise ValueError("ratios must be given from the youngest band up, one row an age")
        if self.longest_wait <= 0 or self.walk_seconds < 0 or not 0 <= self.challenge_shift < 0.5:
            raise ValueError("waiting, walking and the challenge shift cannot be below zero")

    def as_json(self) -> dict[str, Any]:
        """These rules as plain JSON values."""
        return asdict(self)

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> "Rules":
        """Read rules stored by ``as_json``; a rule added since then takes its default."""
        known = {f.name for f in fields(cls)}
        values = {name: value for name, value in stored.items() if name in known}
        if "height_rules" in values:
            values["height_rules"] = tuple(
                HeightRule(float(rule["above_m"]), tuple(rule["needs"]))
                for rule in values["height_rules"]
            )
        if "ratios" in values:
            values["ratios"] = tuple(
                AgeRatio(int(ratio["up_to_age"]), int(ratio["children_per_adult"]))
                for ratio in values["ratios"]
            )
        return cls(**values)
