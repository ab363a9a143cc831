"""The words of the prompts about a floor: the facts that go in, and the prompts that come out.

Metres, completed or broken years, days. None always means "not written down".
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from math import isfinite

from progress.engine.rules import CPSU_RATIOS, AgeRatio


class Kind(StrEnum):
    """What a station asks a child to do. CLIMB: without a rope. BLOCKS: parkour-type blocks."""

    BEAM = "beam"
    OVERHEAD = "overhead"
    CLIMB = "climb"
    SWING = "swing"
    ROPE = "rope"
    DROP = "drop"
    VAULT = "vault"
    BLOCKS = "blocks"
    OTHER = "other"


class Mat(StrEnum):
    """What lies under a station; UNKNOWN where nobody has written it down."""

    NONE = "none"
    FIRM = "firm"
    DEEP_SOFT = "deep_soft"
    UNKNOWN = "unknown"


class Severity(StrEnum):
    """STOP wants the lead's reason before the station is used. There is no all-clear."""

    STOP = "stop"
    WARN = "warn"
    INFO = "info"


class Status(StrEnum):
    """How well a figure is known to this project."""

    READ = "read"
    SECOND_HAND = "read second-hand"
    MEMORY = "from memory"
    CUSTOM = "common practice, no source"
    PROPOSAL = "proposal of this project"
    OWN = "set by this programme"


@dataclass(frozen=True)
class VariantFacts:
    """``height_m``: of the feet above the landing. ``hand_height_m``: of an overhead grip."""

    code: str
    name: str = ""
    height_m: float | None = None
    hand_height_m: float | None = None
    lands_on_feet: bool | None = None

    def __post_init__(self) -> None:
        _must_be_measures(self.code, self.height_m, self.hand_height_m)


@dataclass(frozen=True)
class StationFacts:
    """A station as it stands on the floor.

    ``mat_rated_m``: the height the maker rates the mat for. ``clear_zone_m``: free landing space
    on the tightest side. ``spacing_m``: to the nearest other piece. ``swing_run_m``: free space
    each way a rope or swing goes, the shorter. ``way_down``: whether there is a way down that is
    no harder than the way up. ``mat_checked_days``: days since somebody looked the mat over.
    """

    code: str
    name: str
    kind: Kind = Kind.OTHER
    mat: Mat = Mat.UNKNOWN
    mat_rated_m: float | None = None
    mat_checked_days: int | None = None
    clear_zone_m: float | None = None
    spacing_m: float | None = None
    swing_run_m: float | None = None
    way_down: bool | None = None
    variants: tuple[VariantFacts, ...] = ()
    loops: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        _must_be_measures(
            self.code,
            self.mat_rated_m,
            self.mat_checked_days,
            self.clear_zone_m,
            self.spacing_m,
            self.swing_run_m,
        )

    @property
    def highest_m(self) -> float | None:
        """The highest feet of any variant, metres; None where no height is written down."""
        return max((v.height_m for v in self.variants if v.height_m is not None), default=None)


@dataclass(frozen=True)
class GroupFacts:
    """``adults`` present and responsible. ``children_at``: most children at a station at a time."""

    children: int
    youngest_age: float | None = None
    adults: int | None = None
    children_at: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _must_be_measures("group", self.children, self.youngest_age, self.adults)


CPSU_LEAST_ADULTS = 2
CLUB_CHILDREN_AT_STATION = 8


@dataclass(frozen=True)
class SafetyLimits:
    """What a lead may change. Published heights and distances are not here: they are what they are.

    ``ratios``: from the youngest band up. ``mat_check_days``: proposal of this project.
    """

    ratios: tuple[AgeRatio, ...] = CPSU_RATIOS
    least_adults: int = CPSU_LEAST_ADULTS
    children_at_station: int = CLUB_CHILDREN_AT_STATION
    mat_check_days: int = 7

    def __post_init__(self) -> None:
        ages = [ratio.up_to_age for ratio in self.ratios]
        if not ages or ages != sorted(set(ages)):
            raise ValueError("ratios must be given from the youngest band up, one row an age")


@dataclass(frozen=True)
class Prompt:
    """Something to look at before a class. No prompt about a thing says nothing in its favour.

    ``station`` and ``variants`` are codes, None and empty where the prompt is about the group.
    ``found`` and ``compared`` are the two numbers named in ``text``, where there are two.
    ``analogy``: the figure is for public playgrounds and only an analogy for a supervised hall.
    ``todo``: what a person can do about it.
    """

    severity: Severity
    rule: str
    text: str
    todo: str
    source: str
    status: Status
    analogy: bool
    station: str | None = None
    variants: tuple[str, ...] = ()
    loops: tuple[str, ...] = ()
    found: float | None = None
    compared: float | None = None


def _must_be_measures(code: str, *values: float | None) -> None:
    for value in values:
        if value is not None and not (isfinite(value) and value >= 0):
            raise ValueError(f"{code}: {value} is no measure; leave out what is not known")
