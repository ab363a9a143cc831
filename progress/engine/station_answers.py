"""What the comparison of floor and needs answers, in figures and in sentences."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from progress.engine.station_demand import LibraryStation
from progress.engine.station_solver import Limit, LimitKind

MOST_SKILLS_TOLD = 3


@dataclass(frozen=True)
class CoverRow:
    """Children whom a skill of this ladder and tier holds back, and whom the floor serves.

    ``served`` counts children with at least one such skill practised where they train;
    ``weight`` and ``weight_served`` are the same by weight of need.
    """

    ladder: str
    tier: int
    needing: int
    served: int
    weight: float
    weight_served: float


class Answer(StrEnum):
    """What came of looking for a better floor."""

    CHANGE = "change"
    AS_GOOD = "as_good"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True)
class SkillServed:
    """Children a skill holds back, and how many the floor serves in it before and after."""

    skill: str
    name: str
    needing: int
    before: int
    after: int


@dataclass(frozen=True)
class Swap:
    """One station out and one in, in its place, with what that changes when made in turn.

    ``gain`` is in weight of needs; ``children_*`` are children served in anything they need;
    ``skills`` are those whose number of children changes, most gained first. ``alone`` says that
    the floor keeps its limits after this swap, the ones before it made and the later ones not.
    """

    area: str
    out: str
    into: str
    gain: float
    children_before: int
    children_after: int
    skills: tuple[SkillServed, ...]
    alone: bool
    why: str


@dataclass(frozen=True)
class Binding:
    """A limit that stands in the way; ``gain`` is what leaving it out would add, in weight.

    ``gain`` is None where it is not a matter of more: without the limit there would be an answer.
    """

    limit: Limit
    gain: float | None
    why: str


@dataclass(frozen=True)
class Proposal:
    """The best floor within so many changes, next to the present one.

    Weights are of needs, out of ``weight``; children are those served in anything they need, out
    of ``children``. ``broken`` are limits that the present floor breaks already. ``binding`` is
    filled where there is no better floor or none at all; it may be empty where no single limit
    is the cause.
    """

    answer: Answer
    swaps: tuple[Swap, ...]
    weight: float
    weight_before: float
    weight_after: float
    children: int
    children_before: int
    children_after: int
    broken: tuple[Limit, ...]
    binding: tuple[Binding, ...]
    why: str


def why_of(
    stations: tuple[LibraryStation, LibraryStation],
    children: tuple[int, int],
    needs: tuple[int, int],
    skills: Sequence[SkillServed],
) -> str:
    """A swap in a sentence; ``stations`` are what goes and what comes, counts before and after."""
    goes, comes = (station.name or station.code for station in stations)
    if children[0] != children[1]:
        counts = f"the floor serves {children[1]} children instead of {children[0]}"
    else:
        counts = (
            f"the floor serves {needs[1]} needs instead of {needs[0]}, of {children[1]} children"
        )
    told = [f"{one.name} {one.before} to {one.after}" for one in skills[:MOST_SKILLS_TOLD]]
    told += [
        f"{one.name} {one.before} to {one.after}"
        for one in skills[MOST_SKILLS_TOLD:]
        if one.after < one.before
    ]
    tail = f" ({', '.join(told)})" if told else ""
    return f"{comes} instead of {goes}: {counts}{tail}."


def in_words(limit: Limit) -> str:
    """The limit as the beginning of a sentence."""
    return {
        LimitKind.SPACE: f"The floor space of {limit.name}",
        LimitKind.EQUIPMENT: f"The number of {limit.name}",
        LimitKind.CHANGES: "The number of changes",
        LimitKind.FIXED: "What the coach wants to stay",
        LimitKind.SMALL_AREA: "Keeping small-area stations to the small area",
    }[limit.kind]


def _listed(limits: Iterable[Limit]) -> str:
    words = [in_words(limit) for limit in limits]
    return "; ".join([words[0], *(word[0].lower() + word[1:] for word in words[1:])])


def summary(
    answer: Answer,
    swaps: Sequence[Swap],
    already: Sequence[Limit],
    binding: Sequence[Binding],
    *,
    anybody: bool,
) -> str:
    """What came of it, in a sentence or two; ``anybody``: whether any child needs anything."""
    over = f" The present floor breaks a limit: {_listed(already)}." if already else ""
    if answer is Answer.IMPOSSIBLE:
        cause = _listed(one.limit for one in binding) if binding else "several limits together"
        return f"No floor keeps every limit: {cause}.{over}"
    if answer is Answer.AS_GOOD:
        if not anybody:
            return "Nobody is held back by a skill, so there is nothing to serve better."
        held = f" Standing in the way: {_listed(one.limit for one in binding)}." if binding else ""
        return f"No station of the library would serve more of what children need.{held}"
    return " ".join(swap.why for swap in swaps) + over
