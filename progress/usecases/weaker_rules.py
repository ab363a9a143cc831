"""Which rules would ask less of safety skills: said to the lead before anything is saved."""

from collections.abc import Sequence

from progress.engine.rules import HeightRule, Rules

# Rules that guard safety skills, and whether less of each asks less of a child.
GUARDS = {
    "gate_clean_in_a_row": True,
    "gate_days": True,
    "gate_coaches": True,
    "secure_confidence": True,
    "nearly_confidence": True,
    "fresh_days": False,
    "height_rules": True,
}


def weaker_guards(before: Rules, after: Rules) -> tuple[str, ...]:
    """Names of the rules that would ask less of safety skills, or of children sent up high."""
    found = []
    for name, less_is_weaker in GUARDS.items():
        was, now = getattr(before, name), getattr(after, name)
        if name == "height_rules":
            weaker = _weaker_heights(was, now)
        else:
            weaker = now < was if less_is_weaker else now > was
        if weaker:
            found.append(name)
    return tuple(found)


def _weaker_heights(before: Sequence[HeightRule], after: Sequence[HeightRule]) -> bool:
    heights = {rule.above_m for rule in (*before, *after)}
    return any(asked_above(before, h) - asked_above(after, h) for h in heights)


def asked_above(rules: Sequence[HeightRule], height: float) -> set[str]:
    """The skills asked for where feet are planned just above this height."""
    return {code for rule in rules if rule.above_m <= height for code in rule.needs}
