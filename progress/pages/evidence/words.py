"""The rule in force, the parts of it, and what would change the answer, in words to recite."""

from collections.abc import Mapping
from datetime import date

from progress.engine.rules import Rules
from progress.engine.what_would_change import (
    MOST_DAYS,
    MOST_TRIES,
    FurtherClean,
    Obstacle,
    TakenBack,
)
from progress.models import Skill
from progress.pages.shared.words import percent
from progress.usecases.see_evidence import EvidencePicture, Part, PartOfRule, Weight

WEIGHT_WORDS = {
    Weight.IN_RUN: "In the run of clean tries",
    Weight.TOO_OLD: "Too old to be a fresh look",
    Weight.COUNTS: "",
}


def count(number: int, thing: str, more_things: str = "") -> str:
    """``1 day``, ``2 days``; for words with a plural of their own, say it."""
    return f"{number} {thing}" if number == 1 else f"{number} {more_things or thing + 's'}"


def span(days: int) -> str:
    """Days as a coach says them: ``8 weeks``, or ``60 days`` where that is no whole weeks."""
    return count(days // 7, "week") if days % 7 == 0 else count(days, "day")


def long_day(day: date) -> str:
    """``Monday 16 March 2026``."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def rules_in_words(rules: Rules, coaches_needed: int) -> tuple[tuple[str, str], ...]:
    """The rule for a safety skill, for any other skill and for the answer, each with its name."""
    coaches = f", by {coaches_needed} coaches" if coaches_needed > 1 else ""
    run, fresh = rules.gate_clean_in_a_row, span(rules.fresh_days)
    last = "The last try" if run == 1 else f"The last {run} tries"
    tries = count(rules.clean_attempts, "clean try", "clean tries")
    return (
        (
            "A safety skill",
            f"{last} clean, on {count(rules.gate_days, 'day')}{coaches}, none older than {fresh}; "
            f"and at least {percent(rules.secure_confidence)} sure that it is at its standard. "
            "It is never waived.",
        ),
        (
            "Any other required skill",
            f"{tries} on {count(rules.clean_days, 'day')}, one of them in the last {fresh}, "
            "at the skill or at one that needs it.",
        ),
        (
            "All together",
            f"At least {percent(rules.ready_at)} sure that every required skill is at its "
            f"standard. At {percent(rules.building_at)} or less the answer is Building.",
        ),
    )


def part_in_words(part: PartOfRule) -> str:
    """What the part asks for and what there is: ``5 clean in a row: there are 3``."""
    if part.part is Part.SURE:
        sure, least = percent(float(str(part.has))), percent(float(str(part.asks)))
        note = "" if part.bars else "; for the word Secure, not asked for by itself to be ready"
        return f"At least {least} sure that it is at its standard: now {sure}{note}"
    if part.part is Part.FRESH and isinstance(part.asks, date):
        since = f"{part.asks.day} {part.asks:%b %Y}"
        seen = f"on {part.has.day} {part.has:%b %Y}" if isinstance(part.has, date) else "never"
        return f"Shown clean since {since}, here or at a skill that needs it: last {seen}"
    asks, has = int(str(part.asks)), part.has
    asked = {
        Part.RUN: f"{asks} clean in a row",
        Part.RUN_DAYS: f"These on {count(asks, 'day')}",
        Part.RUN_COACHES: f"These by {count(asks, 'coach', 'coaches')}",
        Part.CLEAN: count(asks, "clean try", "clean tries"),
        Part.CLEAN_DAYS: f"Clean on {count(asks, 'day')}",
    }
    return f"{asked[part.part]}: there {'is' if has == 1 else 'are'} {has}"


def further_in_words(one: FurtherClean, *, gate: bool) -> str:
    """``2 more clean in a row on another day, at least one seen by another coach``."""
    words = f"{one.clean} more clean" if one.begun else f"{one.clean} clean"
    if gate and one.clean > 1:
        words += " in a row"
    if one.begun:
        words += " on another day" if one.days == 1 else f" on {one.days} other days"
    elif one.days > 1:
        words += f" on {one.days} days"
    return words + _by_whom(one)


def _by_whom(one: FurtherClean) -> str:
    if one.new_coaches == 0:
        return ""
    if one.new_coaches > 1:
        return f", seen by {one.new_coaches} {'other ' if one.begun else ''}coaches"
    another = "another coach" if one.begun else "a coach"
    return f", seen by {another}" if one.clean == 1 else f", at least one seen by {another}"


def out_of_reach() -> str:
    """What is said where no plan within the bounds was found."""
    return (
        f"It would take more than {MOST_TRIES} further clean tries at a skill or more than "
        f"{span(MOST_DAYS)}. That is not a matter of a few checks: it takes practice, and time."
    )


def obstacle_in_words(obstacle: Obstacle, picture: EvidencePicture) -> str:
    """What stands in the way and who or what can move it."""
    tier = picture.readiness.next_tier
    if obstacle is Obstacle.TOP_TIER:
        return "There is no tier above this one."
    if obstacle is Obstacle.TOO_YOUNG:
        words = f"Tier {tier} asks for an age of {picture.youngest:g} years."
        day = picture.old_enough_on
        return words + (f" {picture.athlete} reaches it on {long_day(day)}." if day else "")
    if obstacle is Obstacle.SKILL_AGE:
        names = listed(picture.change.too_young_for, picture.skills)
        return f"{picture.athlete} is younger than a skill of this tier asks for: {names}."
    what = "A hold" if obstacle is Obstacle.HOLD else "A hold on some ladders"
    return f"{what} is in force. Only the lead lifts it, and then the question is asked anew."


def lapse_in_words(back: TakenBack, skills: Mapping[str, Skill], today: date) -> str:
    """On which day the answer stops being ready if nobody checks anything, and why."""
    if back.lapses is None:
        return ""
    day = date.fromordinal(back.lapses)
    words = f"If nobody checks anything, the answer stops being Ready on {long_day(day)}"
    words += f", in {count((day - today).days, 'day')}: "
    if back.then_short:
        return words + f"what is known of {listed(back.then_short, skills)} is then too old."
    return words + "with time away nobody can be as sure any more."


def listed(codes: tuple[str, ...], skills: Mapping[str, Skill]) -> str:
    """The names of skills in one line."""
    return ", ".join(str(skills.get(code, code)) for code in codes)
