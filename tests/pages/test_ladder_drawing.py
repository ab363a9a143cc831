"""The geometry of the ladder."""

from dataclasses import dataclass

import pytest

from progress.engine.answers import Estimate
from progress.engine.terms import SkillState
from progress.models import Ladder, Skill
from progress.pages.shared.ladder_drawing import (
    LEFT,
    RIGHT,
    along_rung,
    draw_ladder,
    draw_ladders,
)


@dataclass(frozen=True)
class Rung:
    skill: Skill
    estimate: Estimate


@dataclass(frozen=True)
class Picture:
    ladder: Ladder
    rungs: tuple[Rung, ...]


def rung(
    code: str,
    chance: float = 0.5,
    *,
    state: SkillState = SkillState.BUILDING,
    standard: float = 0.8,
) -> Rung:
    estimate = Estimate(
        athlete="ada",
        skill=code,
        chance=chance,
        low=max(0.0, chance - 0.1),
        high=min(1.0, chance + 0.1),
        confidence=0.5,
        attempts=1,
        days=1,
        recent=1,
        last=None,
        state=state,
        held=False,
        why="",
    )
    return Rung(Skill(code=code, name=code, standard=standard), estimate)


def picture(*rungs: Rung) -> Picture:
    return Picture(Ladder(code="landing", name="Landing"), rungs)


def test_a_chance_of_nothing_lies_at_one_rail_and_certainty_at_the_other() -> None:
    assert along_rung(0.0) == LEFT
    assert along_rung(1.0) == RIGHT


def test_halfway_is_halfway() -> None:
    assert along_rung(0.5) == pytest.approx((LEFT + RIGHT) / 2)


@pytest.mark.parametrize("chance", [-0.2, 1.3])
def test_nothing_is_drawn_beyond_the_rails(chance: float) -> None:
    assert LEFT <= along_rung(chance) <= RIGHT


def test_a_rung_is_filled_as_far_as_the_chance() -> None:
    (drawn,) = draw_ladder(picture(rung("LAND-1", 0.25))).rungs

    assert drawn.fill_width == pytest.approx((RIGHT - LEFT) * 0.25)


def test_the_notch_stands_at_the_skills_own_standard() -> None:
    (drawn,) = draw_ladder(picture(rung("LAND-1", standard=0.9))).rungs

    assert drawn.notch == along_rung(0.9)


def test_the_line_spans_the_interval() -> None:
    (drawn,) = draw_ladder(picture(rung("LAND-1", 0.5))).rungs

    assert drawn.low == along_rung(0.4)
    assert drawn.high == along_rung(0.6)


def test_an_unchecked_rung_is_empty_whatever_the_prior_says() -> None:
    (drawn,) = draw_ladder(picture(rung("LAND-1", 0.7, state=SkillState.UNCHECKED))).rungs

    assert drawn.fill_width is None


def test_the_hardest_rung_is_drawn_first_and_the_ends_are_known() -> None:
    drawn = draw_ladder(picture(rung("LAND-1"), rung("LAND-2"), rung("LAND-3"))).rungs

    assert [each.skill.code for each in drawn] == ["LAND-3", "LAND-2", "LAND-1"]
    assert [each.is_top for each in drawn] == [True, False, False]
    assert [each.is_foot for each in drawn] == [False, False, True]


def test_a_ladder_without_rungs_is_drawn_without_rungs() -> None:
    assert draw_ladder(picture()).rungs == ()


def test_ladders_that_the_page_speaks_of_come_before_the_others() -> None:
    landing, hanging = picture(rung("LAND-1")), picture(rung("HANG-1"))

    drawn = draw_ladders([landing, hanging], spoken_of={"HANG-1"})

    assert [each.rungs[0].skill.code for each in drawn.in_play] == ["HANG-1"]
    assert [each.rungs[0].skill.code for each in drawn.others] == ["LAND-1"]
