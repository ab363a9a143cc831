"""The lead changes what skills ask for: the tier, the standard, whether the tier asks for them.

Every change is kept beside the value before it, with who and why, so nothing is lost.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from math import isfinite

from django.db import transaction

from progress.models import Role, Skill, SkillChange, SkillRule, StaffMember, Tier
from progress.usecases.why_sentence import why_problem

Value = float | int | bool
SkillValues = Mapping[str, Mapping[SkillRule, Value]]

LEAST_STANDARD, MOST_STANDARD = 0.05, 0.99
PLACES = 4  # of a standard: a hundredth of a percent


class SkillsRefused(ValueError):
    """The skills stay as they were; ``problems`` say by skill code what is wrong.

    The code is "why" for the sentence, and empty for all of it.
    """

    def __init__(self, problems: Mapping[str, str]) -> None:
        self.problems = dict(problems)
        super().__init__(" ".join(self.problems.values()))


class SkillsConflict(ValueError):
    """Somebody changed these skills meanwhile; nothing was stored. ``problems`` say it by code."""

    def __init__(self, problems: Mapping[str, str]) -> None:
        self.problems = dict(problems)
        super().__init__(
            "Somebody changed the same skills while you were writing, so nothing of yours is"
            " stored yet. Look at what they changed, then save yours again."
        )


@transaction.atomic
def change_skills(
    *,
    changes: SkillValues,
    why: str,
    lead: StaffMember,
    now: datetime,
    expected: SkillValues | None = None,
) -> tuple[SkillChange, ...]:
    """Store new values by skill code, all of them or none; what each was before is returned.

    A tier is its number, a standard a chance 0.05-0.99, required a bool. Values that are in force
    already are left out. ``expected``: the values the lead was looking at; raises SkillsConflict
    where one of them is another by now. Raises SkillsRefused for somebody who is not the lead, an
    unknown skill or tier, a value that cannot be, a safety skill that would be asked for no more,
    a tier left without any skill it asks for, a change of nothing and a missing reason.
    """
    if not lead.active or lead.role != Role.LEAD:
        raise SkillsRefused({"": "Only the lead changes skills."})
    # Locked, so that two leads who save in the same moment are compared one after the other. All
    # of them, because what is left in a tier depends on the skills beside the changed ones.
    skills = {skill.code: skill for skill in Skill.objects.select_for_update().order_by("pk")}
    sentence = " ".join(why.split())
    problems = why_problem(sentence)
    try:
        _refuse(changes, expected, skills)
    except SkillsRefused as refused:
        raise SkillsRefused(refused.problems | problems) from None
    if problems:
        raise SkillsRefused(problems)
    found = _differing(changes, skills)
    return _store(found, SkillChange(why=sentence, changed_by=lead, changed_at=now))


def _store(
    found: Mapping[Skill, Sequence[tuple[SkillRule, str]]], told: SkillChange
) -> tuple[SkillChange, ...]:
    """Store the skills, and a row for each change that says what ``told`` says."""
    Skill.objects.bulk_update(found, ("tier", "standard", "required"))
    rows = [
        SkillChange(
            skill=skill,
            what=what,
            before=before,
            after=in_writing(what, value_of(skill, what)),
            why=told.why,
            changed_by=told.changed_by,
            changed_at=told.changed_at,
        )
        for skill, changed in found.items()
        for what, before in changed
    ]
    return tuple(SkillChange.objects.bulk_create(rows))


def refuse_skills(*, changes: SkillValues, expected: SkillValues | None = None) -> None:
    """Raise what ``change_skills`` would, but for who and why; stores nothing. Two queries."""
    _refuse(changes, expected, {skill.code: skill for skill in Skill.objects.order_by("pk")})


def value_of(skill: Skill, what: SkillRule) -> Value:
    """What the skill asks for now."""
    if what == SkillRule.TIER:
        return skill.tier_id
    return skill.required if what == SkillRule.REQUIRED else round(skill.standard, PLACES)


def in_writing(what: SkillRule, value: Value) -> str:
    """A value as a change keeps it: ``2``, ``0.85``, ``yes``."""
    if what == SkillRule.REQUIRED:
        return "yes" if value else "no"
    return str(int(value)) if what == SkillRule.TIER else f"{round(value, PLACES):g}"


def in_words(what: str, value: Value | str) -> str:
    """A value, or its writing in a change, as a person reads it: ``2``, ``85%``, ``yes``."""
    written = value if isinstance(value, str) else in_writing(SkillRule(what), value)
    return f"{round(100 * float(written), 2):g}%" if what == SkillRule.STANDARD else written


def _refuse(
    changes: SkillValues, expected: SkillValues | None, skills: Mapping[str, Skill]
) -> None:
    if expected is not None:
        _refuse_conflict(expected, skills)
    problems = _value_problems(changes, skills) or _emptied_tiers(changes, skills)
    if problems:
        raise SkillsRefused(problems)
    if not any(
        in_writing(what, value) != in_writing(what, value_of(skills[code], what))
        for code, values in changes.items()
        for what, value in values.items()
    ):
        raise SkillsRefused({"": "Nothing is different from what the skills ask for now."})


def _differing(
    changes: SkillValues, skills: Mapping[str, Skill]
) -> dict[Skill, list[tuple[SkillRule, str]]]:
    """The skills with their new values on them, and what each value was before in writing."""
    found: dict[Skill, list[tuple[SkillRule, str]]] = {}
    for code, values in changes.items():
        skill = skills[code]
        for what in SkillRule:
            if what not in values:
                continue
            before = in_writing(what, value_of(skill, what))
            if in_writing(what, values[what]) == before:
                continue
            found.setdefault(skill, []).append((what, before))
            _put(skill, what, values[what])
    return found


def _put(skill: Skill, what: SkillRule, value: Value) -> None:
    if what == SkillRule.TIER:
        skill.tier_id = int(value)
    elif what == SkillRule.REQUIRED:
        skill.required = bool(value)
    else:
        skill.standard = round(float(value), PLACES)


def _refuse_conflict(expected: SkillValues, skills: Mapping[str, Skill]) -> None:
    problems = {}
    for code, values in expected.items():
        for what, value in values.items():
            if code not in skills:
                problems[code] = "This skill is no longer in the catalogue."
                continue
            now = value_of(skills[code], what)
            if in_writing(what, now) != in_writing(what, value):
                told = f"{SkillRule(what).label} is {in_words(what, now)} by now."
                problems[code] = f"{problems[code]} {told}" if code in problems else told
    if problems:
        raise SkillsConflict(problems)


def _value_problems(changes: SkillValues, skills: Mapping[str, Skill]) -> dict[str, str]:
    tiers = set(Tier.objects.values_list("number", flat=True))
    problems = {}
    for code, values in changes.items():
        if code not in skills:
            problems[code] = f"There is no skill {code}."
            continue
        told = [_problem(skills[code], what, value, tiers) for what, value in values.items()]
        if any(told):
            problems[code] = " ".join(one for one in told if one)
    return problems


def _problem(skill: Skill, what: str, value: object, tiers: set[int]) -> str:
    """What is wrong with one value; empty where nothing is."""
    if what == SkillRule.REQUIRED:
        if not isinstance(value, bool):
            return "Say yes or no."
        never = "A safety skill is never waived: its tier goes on asking for it."
        return never if skill.gate and skill.required and not value else ""
    if what not in SkillRule.values:
        return f"Nothing called {what} can be changed here."
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        return "Write a number."
    if what == SkillRule.TIER:
        return "" if value in tiers else f"There is no tier {value}."
    possible = LEAST_STANDARD <= value <= MOST_STANDARD
    return "" if possible else "Give a standard from 5% to 99%."


def _emptied_tiers(changes: SkillValues, skills: Mapping[str, Skill]) -> dict[str, str]:
    """Tiers that would ask for nothing any more, told at the skills that they would lose.

    Nobody could be told ready or not ready for leaving such a tier.
    """
    after = {code: _after(skill, changes.get(code, {})) for code, skill in skills.items()}
    before = Counter(_tiers_asking((s.tier_id, s.required) for s in skills.values()))
    left = Counter(_tiers_asking(after.values()))
    emptied = {tier for tier in before if not left[tier]}
    return {
        code: f"Tier {skills[code].tier_id} would ask for no skill at all: keep one in it."
        for code in changes
        if skills[code].tier_id in emptied and skills[code].required
    }


def _after(skill: Skill, values: Mapping[SkillRule, Value]) -> tuple[int, bool]:
    tier = values.get(SkillRule.TIER, skill.tier_id)
    return int(tier), bool(values.get(SkillRule.REQUIRED, skill.required))


def _tiers_asking(skills: Iterable[tuple[int, bool]]) -> list[int]:
    return [tier for tier, required in skills if required]
