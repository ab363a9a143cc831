"""What the figures say of a skill, and what a move would touch, in a lead's words."""

from collections.abc import Iterable
from dataclasses import dataclass

from progress.engine.placing import LEAST_ATHLETES, LEAST_ATTEMPTS, Placed
from progress.models import Skill, SkillRule
from progress.pages.shared.words import percent
from progress.usecases.change_skills import Value
from progress.usecases.retier import Preview, Wanted
from progress.usecases.see_difficulty import DifficultyMap, sureness

LEANS_FROM = 0.75  # below this nobody would call it a lean


@dataclass(frozen=True)
class Saying:
    """What the figures say; ``order`` sorts those to look at first."""

    order: int
    words: str


def saying(one: Placed) -> Saying:
    """One skill's figures in a few words."""
    if one.points_to is not None:
        return Saying(0, f"Nearer to tier {one.points_to}")
    if not one.enough:
        return Saying(3, "Not enough tries to say")
    if one.p_harder is None and one.p_easier is None:
        return Saying(3, "No other tier to compare with")
    lean = max(one.p_harder or 0.0, one.p_easier or 0.0)
    if lean >= LEANS_FROM:
        side = "harder" if lean == one.p_harder else "easier"
        return Saying(1, f"Perhaps too {'hard' if side == 'harder' else 'easy'} here, not sure")
    return Saying(2, "Sits where it is")


def logits(value: float) -> str:
    """A place on the scale, with a true minus sign; never minus nothing."""
    return f"{round(value, 1) + 0.0:.1f}".replace("-", "−")


def between(one: Placed) -> str:
    """The interval of a skill's difficulty."""
    return f"{logits(one.low)} to {logits(one.high)}"


def enough_words() -> str:
    """What it takes to say anything."""
    return f"{LEAST_ATTEMPTS} tries by {LEAST_ATHLETES} children"


def misplaced_lines(told: DifficultyMap) -> list[tuple[Placed, Skill, list[str]]]:
    """Each skill that the figures put in another tier, with sentences why."""
    return [
        (one, told.skills[one.skill], _why_misplaced(one, told.skills[one.skill], told))
        for one in told.misplaced
    ]


def _why_misplaced(one: Placed, skill: Skill, told: DifficultyMap) -> list[str]:
    tier = one.points_to
    if tier is None:
        return []
    harder = tier > one.tier
    lines = [
        f"{percent(sureness(one)).capitalize()} sure: it is {'harder' if harder else 'easier'} than"
        f" the middle skill of tier {tier}, which lies at {logits(told.middles[tier])}.",
        f"Its own difficulty is about {logits(one.difficulty)}; 90% sure it lies between"
        f" {logits(one.low)} and {logits(one.high)}.",
        f"An average child of tier {one.tier} would be clean {percent(one.chance)} of the time."
        f" Learnt from {one.attempts} tries by {one.athletes} children.",
    ]
    if skill.gate:
        lines.append("It is a safety skill, so it may rightly sit where it is.")
    return lines


def value_words(what: str, value: Value) -> str:
    """``tier 2``, ``standard 85%``, ``asked for by its tier``."""
    if what == SkillRule.TIER:
        return f"tier {value}"
    if what == SkillRule.STANDARD:
        return f"standard {100 * float(value):g}%"
    return "asked for by its tier" if value else "not asked for by its tier"


def wanted_words(one: Wanted) -> str:
    """``Hang for 10 seconds: from tier 1 to tier 2``."""
    before, after = value_words(one.what, one.before), value_words(one.what, one.after)
    return f"{one.skill}: from {before} to {after}"


@dataclass(frozen=True)
class Touched:
    """One thing a change would touch; ``serious`` ones are shown first and stronger."""

    says: str
    serious: bool = True


def touched(preview: Preview) -> list[Touched]:
    """Everything beside the suggestions that the change would touch."""
    broken = preview.broken
    after = {one.skill.code: one.after for one in preview.wanted if one.what == SkillRule.TIER}
    lines = [
        Touched(
            f"Tier {tier} would ask for no skill at all, so nobody could be told ready or not"
            " ready to leave it. This cannot be saved: keep one in it."
        )
        for tier in broken.asking_nothing
    ]
    for skill, need in broken.needs:
        lines.append(
            Touched(
                f"“{skill}” (tier {after.get(skill.code, skill.tier_id)}) needs “{need}”, which"
                f" would sit above it in tier {after.get(need.code, need.tier_id)}. Children would"
                " be asked for the first before the second."
            )
        )
    lines += [Touched(line) for line in _gate_lines(broken.gates)]
    for tier, children, top in broken.tops:
        new = "become the highest tier" if top else "no longer be the highest tier"
        lines.append(Touched(f"Tier {tier}, with {_children(children)} in it, would {new}."))
    for skill, count in broken.held_less:
        lines.append(
            Touched(
                f"{_children(count).capitalize()} would no longer count as holding “{skill}” where"
                " a station or another skill needs it, until checks show it again.",
                serious=False,
            )
        )
    for skill, count in broken.held_more:
        lines.append(
            Touched(
                f"{_children(count).capitalize()} would newly count as holding “{skill}” where a"
                " station or another skill needs it.",
                serious=skill.gate,
            )
        )
    return sorted(lines, key=lambda line: not line.serious)


def _gate_lines(gates: Iterable[Wanted]) -> Iterable[str]:
    for one in gates:
        start = f"“{one.skill}” is a safety skill."
        if one.what != SkillRule.TIER:
            yield f"{start} It would change from {value_words(one.what, one.before)} to" + (
                f" {value_words(one.what, one.after)}."
            )
        elif one.after > one.before:
            yield (
                f"{start} Children would leave tier {one.before} without being asked for it."
                " Ask somebody qualified before you let that happen."
            )
        else:
            yield (
                f"{start} Children could not leave tier {one.after} before they hold it, and a"
                " slip at it would count for those in higher tiers."
            )


def _children(count: int) -> str:
    return "1 child" if count == 1 else f"{count} children"
