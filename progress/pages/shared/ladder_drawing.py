"""The picture of the product: a ladder, its rungs filled as far as the chance goes.

Only geometry is made here. Widths are percentages of the drawing's width, so the picture fits any
screen and the rails reach from one rung to the next however many lines a skill's name takes.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Protocol

from progress.engine.answers import Estimate
from progress.engine.terms import SkillState
from progress.models import Ladder, Skill

# The rung spans this part of the width; the rails stand just outside it.
LEFT, RIGHT = 8.0, 92.0
RAIL_WIDTH = 4.0


class RungPicture(Protocol):
    """What is known of one rung."""

    @property
    def skill(self) -> Skill: ...
    @property
    def estimate(self) -> Estimate: ...


class LadderPicture(Protocol):
    """What is known of one ladder; rungs from easiest to hardest."""

    @property
    def ladder(self) -> Ladder: ...
    @property
    def rungs(self) -> Iterable[RungPicture]: ...


@dataclass(frozen=True)
class RungDrawing:
    """One rung, ready to draw; every ``x`` and ``width`` is a percentage of the drawing's width.

    ``fill_width`` is None where nobody has checked: an empty rung must not look like a low one.
    """

    skill: Skill
    estimate: Estimate
    fill_width: float | None
    notch: float
    low: float
    high: float
    is_top: bool
    is_foot: bool

    @property
    def interval_width(self) -> float:
        """Width of the fine line."""
        return round(self.high - self.low, 2)


@dataclass(frozen=True)
class LadderDrawing:
    """One ladder, hardest rung first, as it stands on the page."""

    ladder: Ladder
    rungs: tuple[RungDrawing, ...]


@dataclass(frozen=True)
class DrawnLadders:
    """All ladders of a page: first those the page speaks of, then the others, to be folded."""

    in_play: tuple[LadderDrawing, ...]
    others: tuple[LadderDrawing, ...]


def along_rung(chance: float) -> float:
    """Where a chance (0-1) lies across the drawing, in percent of its width."""
    bounded = min(max(chance, 0.0), 1.0)
    return round(LEFT + (RIGHT - LEFT) * bounded, 2)


def draw_ladder(picture: LadderPicture) -> LadderDrawing:
    """Turn one ladder's estimates into a drawing, hardest rung first."""
    upward = list(picture.rungs)
    last = len(upward) - 1
    rungs = [
        _draw_rung(rung, is_top=place == last, is_foot=place == 0)
        for place, rung in enumerate(upward)
    ]
    return LadderDrawing(picture.ladder, tuple(reversed(rungs)))


def draw_ladders(pictures: Iterable[LadderPicture], spoken_of: Collection[str]) -> DrawnLadders:
    """Draw each ladder, in the order given.

    ``spoken_of`` are codes of skills that the page names; a ladder with one of them is in play.
    """
    in_play: list[LadderDrawing] = []
    others: list[LadderDrawing] = []
    for picture in pictures:
        named = any(rung.skill.code in spoken_of for rung in picture.rungs)
        (in_play if named else others).append(draw_ladder(picture))
    return DrawnLadders(tuple(in_play), tuple(others))


def _draw_rung(rung: RungPicture, *, is_top: bool, is_foot: bool) -> RungDrawing:
    estimate = rung.estimate
    checked = estimate.state is not SkillState.UNCHECKED
    return RungDrawing(
        skill=rung.skill,
        estimate=estimate,
        fill_width=round(along_rung(estimate.chance) - LEFT, 2) if checked else None,
        notch=along_rung(rung.skill.standard),
        low=along_rung(estimate.low),
        high=along_rung(estimate.high),
        is_top=is_top,
        is_foot=is_foot,
    )
