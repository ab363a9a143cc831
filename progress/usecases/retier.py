"""The lead asks what would change if skills sat in other tiers, and only then moves them."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

import numpy as np
from django.db import transaction
from django.db.models import QuerySet

from progress.engine.picture import Picture
from progress.engine.placing import DecisionChange, decisions_changed, retiered
from progress.engine.terms import Catalogue, Decision
from progress.models import Athlete, Skill, SkillChange, SkillRule, StaffMember, Tier
from progress.models.ladders import as_catalogue
from progress.usecases.calibrate_gym import learnt_by
from progress.usecases.change_skills import (
    SkillsRefused,
    SkillValues,
    Value,
    change_skills,
    in_writing,
    value_of,
)
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow, yesterday
from progress.usecases.know_athletes import age_floors
from progress.usecases.see_difficulty import catalogue_digest, know_gym

MOST_MOVES = 12  # more at once, and nobody could tell what caused which change


class CatalogueMoved(ValueError):
    """Somebody changed the skills since the preview; nothing was stored."""

    def __init__(self) -> None:
        super().__init__(
            "Somebody changed the skills after you looked, so nothing of yours is stored."
            " Below is what would change now: look again, then save."
        )


@dataclass(frozen=True)
class Wanted:
    """One value of one skill, as it is and as it would be."""

    skill: Skill
    what: SkillRule
    before: Value
    after: Value


@dataclass(frozen=True)
class AthleteChange:
    """An athlete for whom the tool would suggest something else."""

    athlete: Athlete
    change: DecisionChange


@dataclass(frozen=True)
class Broken:
    """What else the change would touch, each part empty where nothing is.

    ``needs``: (skill, a skill it needs) where the needed one would sit in a higher tier. ``gates``:
    safety skills among the changed ones. ``asking_nothing``: tiers in use that would ask for no
    skill, or have none; that cannot be saved. ``held_less`` and ``held_more``: how many athletes
    would no longer, or newly, count as holding a skill where stations and other skills need it.
    ``tops``: (tier, its athletes, whether it would be the highest) where that changes.
    """

    needs: tuple[tuple[Skill, Skill], ...] = ()
    gates: tuple[Wanted, ...] = ()
    asking_nothing: tuple[int, ...] = ()
    held_less: tuple[tuple[Skill, int], ...] = ()
    held_more: tuple[tuple[Skill, int], ...] = ()
    tops: tuple[tuple[int, int, bool], ...] = ()


@dataclass(frozen=True)
class Preview:
    """What the changes would do, worked out on what is known at the end of ``until``.

    ``digest`` names the catalogue it was worked out on. ``moved``: how many athletes go from one
    suggestion to another, the largest group first.
    """

    digest: str
    until: date
    learnt_before: date
    wanted: tuple[Wanted, ...]
    athletes: int
    attempts: int
    changes: tuple[AthleteChange, ...]
    moved: tuple[tuple[Decision, Decision, int], ...]
    broken: Broken


@dataclass(frozen=True)
class _Worked:
    """What is kept for the day: codes and counts, no records."""

    learnt_before: date
    athletes: int
    attempts: int
    changes: tuple[DecisionChange, ...]
    held_less: dict[str, int]
    held_more: dict[str, int]
    by_tier: dict[int, int]


def what_would_change(*, changes: SkillValues, today: date) -> Preview:
    """Who would be told something else, and what else the change would touch.

    Kept for the day, so sorting its table does not replay the log again. Raises SkillsRefused for
    an unknown skill or tier, too many skills, and where nothing would be different.
    """
    skills = {skill.code: skill for skill in Skill.objects.with_needs()}
    wanted = _wanted(changes, skills)
    catalogue = as_catalogue(skills.values())
    other = _changed(catalogue, wanted)
    digest, floors = catalogue_digest(catalogue), age_floors(skills)
    # Made first where there is none: one made on the way would pass for something new next time.
    learnt_by(catalogue=catalogue, today=today)
    worked = kept_until_tomorrow(
        question="retier",
        of=f"{digest} {catalogue_digest(other)}",
        today=today,
        work_out=lambda day: _work_out(catalogue, other, floors, day),
    )
    codes = [one.athlete for one in worked.changes]
    athletes = Athlete.objects.in_bulk(codes, field_name="code")
    moved = Counter((one.before, one.after) for one in worked.changes)
    return Preview(
        digest=digest,
        until=yesterday(today),
        learnt_before=worked.learnt_before,
        wanted=wanted,
        athletes=worked.athletes,
        attempts=worked.attempts,
        changes=tuple(
            AthleteChange(athletes[one.athlete], one)
            for one in worked.changes
            if one.athlete in athletes
        ),
        moved=tuple((*pair, count) for pair, count in moved.most_common()),
        broken=_broken(catalogue, other, wanted, worked, skills),
    )


def save_changes(
    *, changes: SkillValues, seen: str, why: str, lead: StaffMember, now: datetime
) -> tuple[SkillChange, ...]:
    """Store what was previewed on the catalogue that ``seen`` names, all of it or nothing.

    Raises CatalogueMoved where any skill asks for something else by now, and SkillsRefused as
    ``change_skills`` does.
    """
    with transaction.atomic():
        # Locked first, so that nobody changes a skill between the comparison and the saving.
        list(Skill.objects.select_for_update().order_by("pk").values_list("pk"))
        if catalogue_digest(Skill.objects.as_catalogue()) != seen:
            raise CatalogueMoved
        return change_skills(changes=changes, why=why, lead=lead, now=now)


def skill_history() -> QuerySet[SkillChange]:
    """Every change of a skill, the newest first, with what a page shows of it."""
    return SkillChange.objects.select_related("skill__ladder", "changed_by")


def put_back(change: SkillChange) -> SkillValues:
    """The change that brings back the value before ``change``; empty where it is in force."""
    what = SkillRule(change.what)
    if in_writing(what, value_of(change.skill, what)) == change.before:
        return {}
    return {change.skill.code: {what: from_writing(what, change.before)}}


def from_writing(what: SkillRule, text: str) -> Value:
    """A value as a change keeps it, read back."""
    if what == SkillRule.TIER:
        return int(text)
    return text == "yes" if what == SkillRule.REQUIRED else float(text)


def _wanted(changes: SkillValues, skills: Mapping[str, Skill]) -> tuple[Wanted, ...]:
    tiers = set(Tier.objects.values_list("number", flat=True))
    problems = {code: f"There is no skill {code}." for code in changes if code not in skills}
    if len(changes) > MOST_MOVES:
        problems[""] = f"Look at no more than {MOST_MOVES} skills at once."
    for code, values in changes.items():
        tier = values.get(SkillRule.TIER)
        if tier is not None and tier not in tiers:
            problems.setdefault(code, f"There is no tier {tier}.")
    if problems:
        raise SkillsRefused(problems)
    found = [
        Wanted(skills[code], what, value_of(skills[code], what), value)
        for code, values in changes.items()
        for what, value in values.items()
        if in_writing(what, value) != in_writing(what, value_of(skills[code], what))
    ]
    if not found:
        raise SkillsRefused({"": "That is how it is now, so nothing would change."})
    return tuple(found)


def _changed(catalogue: Catalogue, wanted: tuple[Wanted, ...]) -> Catalogue:
    moves = {one.skill.code: int(one.after) for one in wanted if one.what == SkillRule.TIER}
    others: dict[str, dict[str, Value]] = {}
    for one in wanted:
        if one.what != SkillRule.TIER:
            others.setdefault(one.skill.code, {})[one.what.value] = one.after
    moved = retiered(catalogue, moves)
    asked = tuple(replace(s, **others.get(s.code, {})) for s in moved.skills)  # type: ignore[arg-type]
    return replace(moved, skills=asked)


def _work_out(
    catalogue: Catalogue, other: Catalogue, floors: Mapping[int, float], until: date
) -> _Worked:
    gym = know_gym(
        athletes=list(Athlete.objects.here_on(until).order_by("code")),
        catalogue=catalogue,
        until=until,
    )
    changes = decisions_changed(gym.picture, other, floors) if gym.athletes else ()
    less, more = _held_changes(gym.picture, other)
    return _Worked(
        learnt_before=gym.learnt.cutoff,
        athletes=len(gym.athletes),
        attempts=len(gym.log),
        # Nobody moves up from the highest tier, so no suggestion is shown there.
        changes=tuple(
            one
            for one in changes
            if None not in (catalogue.next_tier(one.tier), other.next_tier(one.tier))
        ),
        held_less=less,
        held_more=more,
        by_tier=dict(Counter(athlete.tier_id for athlete in gym.athletes)),
    )


def _held_changes(told: Picture, other: Catalogue) -> tuple[dict[str, int], dict[str, int]]:
    """By skill code how many athletes would no longer, and newly, count as holding it."""
    before, after = told.held, replace(told, catalogue=other).held
    lost, won = (before & ~after).sum(axis=0), (after & ~before).sum(axis=0)
    codes = [skill.code for skill in other.skills]
    return (
        {codes[column]: int(lost[column]) for column in np.flatnonzero(lost)},
        {codes[column]: int(won[column]) for column in np.flatnonzero(won)},
    )


def _broken(
    catalogue: Catalogue,
    other: Catalogue,
    wanted: tuple[Wanted, ...],
    worked: _Worked,
    skills: Mapping[str, Skill],
) -> Broken:
    touched = {one.skill.code for one in wanted}
    needs = [
        (skills[skill.code], skills[need])
        for skill in other.skills
        for need in skill.needs
        if other.skill(need).tier > skill.tier and touched & {skill.code, need}
    ]
    tops = [
        (tier, children, other.next_tier(tier) is None)
        for tier, children in sorted(worked.by_tier.items())
        if (catalogue.next_tier(tier) is None) != (other.next_tier(tier) is None)
    ]
    return Broken(
        needs=tuple(needs),
        gates=tuple(one for one in wanted if one.skill.gate),
        asking_nothing=tuple(
            tier for tier in catalogue.tiers if catalogue.of_tier(tier) and not other.of_tier(tier)
        ),
        held_less=tuple((skills[code], count) for code, count in worked.held_less.items()),
        held_more=tuple((skills[code], count) for code, count in worked.held_more.items()),
        tops=tuple(tops),
    )
