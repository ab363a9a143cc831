"""What the evidence page shows of each skill, and of what would change the answer."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from progress.engine.answers import Estimate
from progress.engine.what_would_change import Obstacle, Outlook
from progress.models import Ladder, Skill
from progress.pages.evidence import words
from progress.pages.shared.ladder_drawing import RungDrawing, draw_ladder
from progress.usecases.see_evidence import EvidencePicture, SeenAttempt, SkillEvidence

LATEST = 10
A_FEW = 12  # further tries in all; more than so many are practice rather than checks


@dataclass(frozen=True)
class _Rung:
    skill: Skill
    estimate: Estimate


@dataclass(frozen=True)
class _OneRung:
    """A ladder of one rung, for the drawing that all pages share."""

    ladder: Ladder
    rungs: tuple[_Rung, ...]


@dataclass(frozen=True)
class PartLine:
    """One line of the checklist. ``bars``: it keeps the answer from ready while not met."""

    met: bool
    words: str
    bars: bool


@dataclass(frozen=True)
class AttemptLine:
    """One row of the table of attempts."""

    seen: SeenAttempt
    weight: str


@dataclass(frozen=True)
class Block:
    """One skill: drawing, checklist, and its attempts, newest first and the older ones folded."""

    evidence: SkillEvidence
    rung: RungDrawing
    parts: tuple[PartLine, ...]
    latest: tuple[AttemptLine, ...]
    older: tuple[AttemptLine, ...]


@dataclass(frozen=True)
class FurtherLine:
    """Further tries at one skill; ``chance`` that one of them is clean now."""

    skill: Skill
    words: str
    chance: float
    first: bool


@dataclass(frozen=True)
class ChangeWords:
    """What would change the answer, ready to draw. ``obstacles``: what no try can change."""

    obstacles: tuple[str, ...]
    further: tuple[FurtherLine, ...]
    tries: int
    by: date | None
    is_practice: bool
    out_of_reach: str
    by_a_miss: tuple[Skill, ...]
    lapse: str


def blocks(picture: EvidencePicture) -> tuple[Block, ...]:
    """The skills in the order of the picture."""
    return tuple(_block(one) for one in picture.blocks)


def _block(one: SkillEvidence) -> Block:
    drawing = draw_ladder(_OneRung(one.skill.ladder, (_Rung(one.skill, one.estimate),)))
    lines = _lines(one.attempts)
    return Block(
        evidence=one,
        rung=drawing.rungs[0],
        parts=tuple(PartLine(p.met, words.part_in_words(p), p.bars) for p in one.parts),
        latest=lines[:LATEST],
        older=lines[LATEST:],
    )


def _lines(attempts: Iterable[SeenAttempt]) -> tuple[AttemptLine, ...]:
    return tuple(AttemptLine(seen, words.WEIGHT_WORDS[seen.weight]) for seen in attempts)


def change_words(picture: EvidencePicture, today: date) -> ChangeWords:
    """Put what the engine found into words."""
    change, skills = picture.change, picture.skills
    tries = sum(one.clean for one in change.further)
    back = change.taken_back
    return ChangeWords(
        obstacles=tuple(
            words.obstacle_in_words(one, picture)
            for one in change.obstacles
            # In the highest tier the page says so at its head.
            if one is not Obstacle.TOP_TIER
        ),
        further=tuple(
            FurtherLine(
                skills[one.skill],
                words.further_in_words(one, gate=skills[one.skill].gate),
                picture.chances[one.skill],
                one.first,
            )
            for one in change.further
        ),
        tries=tries,
        by=None if change.by is None else date.fromordinal(change.by),
        is_practice=tries > A_FEW,
        out_of_reach=words.out_of_reach() if change.outlook is Outlook.OUT_OF_REACH else "",
        by_a_miss=tuple(skills[code] for code in back.by_a_miss) if back else (),
        lapse=words.lapse_in_words(back, skills, today) if back else "",
    )
