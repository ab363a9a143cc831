"""The words of the trade as plain values: what goes into the engine and what comes out."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from graphlib import CycleError, TopologicalSorter


class Result(StrEnum):
    """What one try showed. The order of the members is the order of success."""

    MISS = "miss"
    ASSISTED = "assisted"
    CLEAN = "clean"

    @property
    def level(self) -> int:
        """0 for a miss, 1 with help, 2 for clean: the ordinal the observation model uses."""
        return list(Result).index(self)


class SkillState(StrEnum):
    """What the log lets a coach say about one athlete and one skill."""

    SECURE = "secure"
    NEARLY = "nearly"
    BUILDING = "building"
    STALE = "stale"
    UNCHECKED = "unchecked"


class Decision(StrEnum):
    """The engine's suggestion about the next tier; a person decides."""

    READY = "ready"
    NEARLY = "nearly"
    BUILDING = "building"
    NEEDS_CHECKS = "needs_checks"


class Constraint(StrEnum):
    """Which constraint a variant changes against the station's base."""

    HEIGHT = "height"
    DISTANCE = "distance"
    WIDTH = "width"
    SUPPORT = "support"
    GRIP = "grip"
    SPEED = "speed"
    TASK = "task"


@dataclass(frozen=True)
class Skill:
    """One observable skill on one ladder and in one tier.

    ``standard`` is the chance of a clean attempt that counts as mastered. ``needs`` are codes of
    skills that must be held first. A ``gate`` is a safety skill and is never waived.
    """

    code: str
    ladder: str
    tier: int
    name: str = ""
    required: bool = True
    gate: bool = False
    needs: tuple[str, ...] = ()
    standard: float = 0.80
    minimum_age: float | None = None


@dataclass(frozen=True)
class Variant:
    """One way to set up a station.

    ``difficulty`` is in logits relative to the variant's skill, None where nobody has set it.
    Heights are metres above the landing surface: ``height_m`` of the feet. ``places`` is how many
    children may be sent to the variant in one class, None for no limit of its own.
    """

    code: str
    skill: str
    step: int = 0
    difficulty: float | None = None
    height_m: float | None = None
    spotter: bool = False
    lanes: int = 1
    seconds: float | None = None
    places: int | None = None
    minimum_age: float | None = None
    needs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Station:
    """A place on the floor with its variants, easiest first."""

    code: str
    variants: tuple[Variant, ...]


@dataclass(frozen=True)
class Loop:
    """An ordered round of stations. Two loops may share a station where they split."""

    code: str
    stations: tuple[Station, ...]
    small_area: bool = False


@dataclass(frozen=True)
class Athlete:
    """What the engine may know of a child: no name, only what changes an answer.

    ``age`` is in years on the day of the question, None where unknown. ``held`` stops everything;
    ``held_ladders`` stops only the ladders named.
    """

    code: str
    tier: int
    age: float | None = None
    held: bool = False
    held_ladders: frozenset[str] = frozenset()
    easing_back: bool = False
    target: tuple[float, float] | None = None


class NeedsCycle(ValueError):
    """Skills need each other in a circle, so none of them could ever be started."""

    def __init__(self, circle: list[str]) -> None:
        self.circle = circle
        super().__init__("needs go in a circle: " + " > ".join(circle))


def refuse_cycle(needs: Mapping[str, Iterable[str]]) -> None:
    """Raise NeedsCycle if following ``needs`` (skill to needed skills) comes back to its start."""
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as error:
        raise NeedsCycle(list(reversed(error.args[1]))) from None


@dataclass(frozen=True)
class Catalogue:
    """All skills of a gym in a fixed order, with their places in the engine's arrays."""

    skills: tuple[Skill, ...]
    ladders: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        known = {skill.code for skill in self.skills}
        for skill in self.skills:
            missing = set(skill.needs) - known
            if missing:
                raise ValueError(f"{skill.code} needs unknown skills: {sorted(missing)}")
        refuse_cycle({skill.code: skill.needs for skill in self.skills})
        if not self.ladders:
            object.__setattr__(
                self, "ladders", tuple(sorted({skill.ladder for skill in self.skills}))
            )

    @cached_property
    def position(self) -> dict[str, int]:
        """Skill code to its column in every array."""
        return {skill.code: column for column, skill in enumerate(self.skills)}

    @cached_property
    def ladder_of(self) -> tuple[int, ...]:
        """For each skill the place of its ladder in ``ladders``."""
        place = {ladder: number for number, ladder in enumerate(self.ladders)}
        return tuple(place[skill.ladder] for skill in self.skills)

    @cached_property
    def tiers(self) -> tuple[int, ...]:
        """The tier numbers in use, in order."""
        return tuple(sorted({skill.tier for skill in self.skills}))

    def skill(self, code: str) -> Skill:
        """Return the skill with this code; KeyError if there is none."""
        return self.skills[self.position[code]]

    def of_tier(self, tier: int) -> tuple[int, ...]:
        """Columns of the skills required to leave ``tier`` for the next."""
        return tuple(
            column
            for column, skill in enumerate(self.skills)
            if skill.tier == tier and skill.required
        )

    def next_tier(self, tier: int) -> int | None:
        """The tier above, or None at the top."""
        above = [number for number in self.tiers if number > tier]
        return above[0] if above else None
