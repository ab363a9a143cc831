"""What an athlete's tier asks for, and what of it stands in the way of "ready"."""

from progress.engine.picture import Picture


def asked_of_tier(picture: Picture, row: int) -> list[int]:
    """Columns that the athlete's tier asks for: required skills and gates."""
    tier = picture.athletes[row].tier
    skills = enumerate(picture.catalogue.skills)
    return [c for c, skill in skills if skill.tier == tier and (skill.required or skill.gate)]


def slipped_gates(picture: Picture, row: int) -> list[int]:
    """Columns of earlier tiers' gates that the log of the fresh days says are not held any more."""
    return [
        column
        for column, skill in enumerate(picture.catalogue.skills)
        if skill.gate
        and skill.tier < picture.athletes[row].tier
        and picture.evidence.recent[row, column] > 0
        and picture.confidence[row, column] < picture.rules.nearly_confidence
    ]


def is_no_bar(supposed: Picture, row: int, column: int) -> bool:
    """Whether a skill of the tier is no bar to ready: a gate secure, another with its floor met."""
    gate = supposed.catalogue.skills[column].gate
    return bool(supposed.secure[row, column] if gate else supposed.evidence.floor[row, column])
