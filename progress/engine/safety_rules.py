"""A rule about a floor: its source as data, and a small predicate that finds what it is about."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from progress.engine.safety_facts import (
    GroupFacts,
    Prompt,
    SafetyLimits,
    Severity,
    StationFacts,
    Status,
    VariantFacts,
)

HAIR = 1e-9  # metres: what rounding alone may add


@dataclass(frozen=True)
class Case:
    """One station with the group that will use it."""

    station: StationFacts
    group: GroupFacts
    limits: SafetyLimits

    @property
    def feet_m(self) -> float:
        """The highest feet, 0 where no height is written down: that is asked for elsewhere."""
        return self.station.highest_m or 0.0

    @property
    def highest(self) -> tuple[str, ...]:
        """The code of the variant with the highest feet."""
        heights = [v for v in self.station.variants if v.height_m is not None]
        return tuple(v.code for v in heights if v.height_m == self.station.highest_m)[:1]

    @property
    def age(self) -> float | None:
        """Age of the youngest child, years."""
        return self.group.youngest_age


@dataclass(frozen=True)
class Finding:
    """What a predicate found. ``own``: compared with a figure of this programme's own."""

    text: str
    found: float | None = None
    compared: float | None = None
    variants: tuple[str, ...] = ()
    own: bool = False


@dataclass(frozen=True)
class Source:
    """Where a figure comes from and how well it is known; ``analogy``: a playground figure."""

    name: str
    status: Status
    analogy: bool = False


@dataclass(frozen=True)
class Rule:
    """``find`` gives a finding for everything at the station that the rule is about."""

    code: str
    severity: Severity
    source: Source
    todo: str
    find: Callable[[Case], Iterator[Finding]]

    def prompts(self, case: Case) -> Iterator[Prompt]:
        """The rule's findings at one station as prompts."""
        for finding in self.find(case):
            yield Prompt(
                severity=self.severity,
                rule=self.code,
                text=finding.text,
                todo=self.todo,
                source="this programme's own limit" if finding.own else self.source.name,
                status=Status.OWN if finding.own else self.source.status,
                analogy=self.source.analogy and not finding.own,
                station=case.station.code,
                variants=finding.variants,
                loops=case.station.loops,
                found=finding.found,
                compared=finding.compared,
            )


def feet_between(case: Case, above: float, up_to: float) -> Iterator[tuple[VariantFacts, float]]:
    """Variants with feet above one height and not above the other, metres."""
    for variant in case.station.variants:
        height = variant.height_m
        if height is not None and above + HAIR < height <= up_to + HAIR:
            yield variant, height


def less(found: float, wanted: float) -> bool:
    """Whether a measure falls short of what is wanted, by more than rounding."""
    return found < wanted - HAIR


def metres(value: float) -> str:
    """A length in words, to the millimetre."""
    return f"{round(value, 3):g} m"
