"""Storing the rows of skills.csv: ladders and tiers are made where they are missing."""

from collections.abc import Iterable
from typing import Any

from django.db.models import Max

from progress.models import Ladder, LookFor, Skill, SkillNeed, Tier
from progress.usecases.folders.rows import SkillRow
from progress.usecases.folders.tally import Made, Tally

FIELDS = ("name", "ladder_id", "tier_id", "required", "gate", "standard", "caution")


def store_skills(rows: list[SkillRow], made: Made) -> Tally:
    """Add new skills and bring stored ones up to date. Runs inside the caller's transaction."""
    if not rows:
        return Tally()
    make_tiers((row.tier for row in rows), made)
    ladders = make_ladders((row.ladder for row in rows), made)
    skills = {skill.code: skill for skill in Skill.objects.all()}
    new = [row for row in rows if row.skill not in skills]
    known = [row for row in rows if row.skill in skills]
    changed = {
        row.skill for row in known if apply(skills[row.skill], details(row, ladders[row.ladder]))
    }
    Skill.objects.bulk_update([skills[code] for code in sorted(changed)], FIELDS, batch_size=500)
    Skill.objects.bulk_create(
        Skill(code=row.skill, **{"name": row.skill, **details(row, ladders[row.ladder])})
        for row in new
    )
    keys = dict(Skill.objects.order_by().values_list("code", "pk"))
    changed |= replace_look_fors(rows, keys)
    changed |= replace_needs(rows, keys)
    updated = sum(row.skill in changed for row in known)
    return Tally(new=len(new), same=len(known) - updated, updated=updated)


def details(row: SkillRow, ladder: int) -> dict[str, Any]:
    """What the row says of the skill itself; empty cells say nothing."""
    said = {
        "name": row.name,
        "ladder_id": ladder,
        "tier_id": row.tier,
        "required": row.required,
        "gate": row.gate,
        "standard": row.standard,
        "caution": row.caution,
    }
    return {name: value for name, value in said.items() if value is not None}


def apply(record: Any, values: dict[str, Any]) -> bool:
    """Set the values on a record; says whether anything changed."""
    changed = False
    for name, value in values.items():
        if getattr(record, name) != value:
            setattr(record, name, value)
            changed = True
    return changed


def make_tiers(numbers: Iterable[int], made: Made) -> None:
    """Make the tiers that are missing."""
    missing = sorted(set(numbers) - set(Tier.objects.values_list("number", flat=True)))
    Tier.objects.bulk_create(Tier(number=number, name=f"Tier {number}") for number in missing)
    made.note("tier", [str(number) for number in missing])


def make_ladders(codes: Iterable[str], made: Made) -> dict[str, int]:
    """Make the ladders that are missing, after the others and in the order of the file."""
    stored = set(Ladder.objects.values_list("code", flat=True))
    missing = [code for code in dict.fromkeys(codes) if code not in stored]
    last = Ladder.objects.aggregate(last=Max("order"))["last"]
    start = 0 if last is None else last + 1
    Ladder.objects.bulk_create(
        Ladder(code=code, name=code, order=order) for order, code in enumerate(missing, start=start)
    )
    made.note("ladder", missing)
    return dict(Ladder.objects.order_by().values_list("code", "pk"))


def replace_look_fors(rows: list[SkillRow], keys: dict[str, int]) -> set[str]:
    """Store the look-fors of rows that list any; return the skills whose look-fors changed."""
    stored: dict[str, list[str]] = {}
    for code, text in LookFor.objects.order_by("order").values_list("skill__code", "text"):
        stored.setdefault(code, []).append(text)
    changed = [
        row for row in rows if row.look_for and list(row.look_for) != stored.get(row.skill, [])
    ]
    LookFor.objects.filter(skill__in=[keys[row.skill] for row in changed]).delete()
    LookFor.objects.bulk_create(
        LookFor(skill_id=keys[row.skill], order=order, text=text)
        for row in changed
        for order, text in enumerate(row.look_for or ())
    )
    return {row.skill for row in changed}


def replace_needs(rows: list[SkillRow], keys: dict[str, int]) -> set[str]:
    """Store the needs as given; return the skills whose needs changed.

    Circles are refused for the whole catalogue before anything is stored, so the links are
    written at once instead of being checked one by one.
    """
    stored: dict[str, set[str]] = {}
    for code, need in SkillNeed.objects.values_list("skill__code", "need__code"):
        stored.setdefault(code, set()).add(need)
    changed = [
        row
        for row in rows
        if row.needs is not None and set(row.needs) != stored.get(row.skill, set())
    ]
    SkillNeed.objects.filter(skill__in=[keys[row.skill] for row in changed]).delete()
    SkillNeed.objects.bulk_create(
        SkillNeed(skill_id=keys[row.skill], need_id=keys[need])
        for row in changed
        for need in row.needs or ()
    )
    return {row.skill for row in changed}
