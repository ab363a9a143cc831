"""What speaks against sending a child to a variant today."""

from collections.abc import Sequence

from progress.engine.picture import Picture
from progress.engine.terms import Variant


def barred(picture: Picture, row: int, variant: Variant) -> str:
    """Why this athlete may not be sent to this variant today; empty where nothing speaks against.

    An empty answer is not an all-clear: the coach on the floor decides.
    """
    athlete, catalogue = picture.athletes[row], picture.catalogue
    skill = catalogue.skill(variant.skill)
    if athlete.held:
        return "on hold: ask the lead"
    if skill.ladder in athlete.held_ladders:
        return "this ladder is on hold: ask the lead"
    for youngest in (variant.minimum_age, skill.minimum_age):
        if youngest is not None and athlete.age is not None and athlete.age < youngest:
            return f"for {youngest:g} years and up"
    missing = [
        code
        for code in (*skill.needs, *variant.needs)
        if not picture.held[row, catalogue.position[code]]
    ]
    if missing:
        return "not yet: needs " + _named(picture, missing)
    return _too_high(picture, row, variant)


def _too_high(picture: Picture, row: int, variant: Variant) -> str:
    """Why the height rules bar the variant; a rule that cannot be checked bars it."""
    catalogue = picture.catalogue
    for rule in picture.rules.height_rules:
        if variant.height_m is None or variant.height_m <= rule.above_m:
            continue
        asked = [code for code in rule.needs if code in catalogue.position]
        if len(asked) < len(rule.needs):
            level = catalogue.skill(variant.skill).tier
            asked += [s.code for s in catalogue.skills if s.gate and s.tier <= level]
            if not asked:
                return f"feet above {rule.above_m:g} m and no safety skills to check it by"
        missing = [code for code in asked if not picture.held[row, catalogue.position[code]]]
        if missing:
            return f"feet above {rule.above_m:g} m need {_named(picture, missing)}"
    return ""


def _named(picture: Picture, codes: Sequence[str]) -> str:
    names = [picture.catalogue.skill(code).name or code for code in dict.fromkeys(codes)]
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
