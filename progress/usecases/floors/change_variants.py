"""A coach adds a variant to a station, changes it, or removes it."""

import math
from collections.abc import Mapping
from typing import Any

from django.db import transaction

from progress.models import ConstraintChoice, StaffMember, Station, Variant
from progress.usecases.floors.change_stations import own_station
from progress.usecases.floors.changes import Done, FloorRefused, Undo, open_to_change
from progress.usecases.floors.codes import step_word, variant_codes
from progress.usecases.floors.copies import plain_values_of

FACTS = (
    *("name", "step", "skill", "change", "height_m", "hand_height_m", "spotter", "lanes"),
    *("seconds", "places", "minimum_age", "caution"),
)
HIGHEST_M = 10
STEPS = range(-5, 6)
MOST_COUNT, MOST_SECONDS, MOST_YEARS = 100, 3600, 99


@transaction.atomic
def save_variant(
    *, station: Station, variant: Variant | None, facts: Mapping[str, Any], by: StaffMember
) -> Done:
    """Store a variant's facts (the names in ``FACTS``); None adds a new variant.

    With another skill or another height it is another thing to do: it gets a new code, so that
    what was learnt about the old one is not taken for knowledge about it. Filling in a height that
    was not written down keeps the code. Raises FloorRefused.
    """
    held = own_station(open_to_change(station.setup, by), station.pk)
    check_variant(held, variant, facts)
    kept = _own_variant(held, variant) if variant else Variant(station=held)
    another = variant is None or is_another(kept, facts)
    for name in FACTS:
        if name in facts:
            setattr(kept, name, facts[name])
    if another:
        kept.code = variant_codes([f"{held.code}-{step_word(kept.step)}"])[0]
        kept.difficulty = None
    kept.save()
    new = variant is not None and another
    learnt = " It counts as a new variant: its difficulty is learnt afresh." if new else ""
    return Done(f"{kept} is kept at {held}.{learnt}", None, held.pk)


def is_another(kept: Variant, facts: Mapping[str, Any]) -> bool:
    """Whether these facts make it another thing to do than it was."""
    if facts["skill"].pk != kept.skill_id:
        return True
    heights = ((getattr(kept, name), facts.get(name)) for name in ("height_m", "hand_height_m"))
    return any(was is not None and was != now for was, now in heights)


def check_variant(station: Station, variant: Variant | None, facts: Mapping[str, Any]) -> None:
    """Raise FloorRefused for what no variant of this station can be."""
    where = f"{station}, {facts.get('name') or 'variant'}"
    if facts.get("skill") is None:
        raise FloorRefused(
            f"{where}: the skill is not in the catalogue. Choose one from the list.", "skill"
        )
    if facts.get("change", "") not in ("", *ConstraintChoice.values):
        raise FloorRefused(
            f"{where}: what changes is not known. Choose one from the list.", "change"
        )
    step = facts["step"]
    if step not in STEPS:
        raise FloorRefused(f"{where}: steps go from {STEPS[0]} (easiest) to {STEPS[-1]}.", "step")
    others = Variant.objects.filter(station=station, step=step)
    there = others.exclude(pk=variant.pk).first() if variant else others.first()
    if there is not None:
        raise FloorRefused(
            f"{where}: {there} is on step {step} already, and a step has one variant. Choose"
            " another step, or change that one.",
            "step",
        )
    check_numbers(where, facts)


def check_numbers(where: str, facts: Mapping[str, Any]) -> None:
    """Raise FloorRefused for a height, time or count that cannot be."""
    limits = (
        ("height_m", "feet height", 0.0, HIGHEST_M, "metres"),
        ("hand_height_m", "hand height", 0.01, HIGHEST_M, "metres"),
        ("seconds", "time of one turn", 0.1, MOST_SECONDS, "seconds"),
        ("places", "number of places", 1, MOST_COUNT, "children"),
        ("minimum_age", "youngest age", 0.0, MOST_YEARS, "years"),
    )
    for field, words, least, most, unit in limits:
        number = facts.get(field)
        if number is not None and not (math.isfinite(number) and least <= number <= most):
            raise FloorRefused(
                f"{where}: the {words} must be from {least:g} to {most:g} {unit}. Mend the number,"
                " or leave it empty.",
                field,
            )
    lanes = facts.get("lanes", 1)
    if lanes is None or not 1 <= lanes <= MOST_COUNT:
        raise FloorRefused(
            f"{where}: a variant has at least 1 lane. Write how many go at once.", "lanes"
        )


@transaction.atomic
def remove_variant(*, station: Station, variant: Variant, by: StaffMember) -> Done:
    """Take a variant off a station."""
    held = own_station(open_to_change(station.setup, by), station.pk)
    kept = _own_variant(held, variant)
    undo: Undo = {
        "kind": "variant",
        "says": f"{kept} is back at {held}.",
        "station": held.pk,
        "values": plain_values_of(kept, "station_id"),
    }
    kept.delete()
    return Done(f"{kept} is removed from {held}.", undo, held.pk)


def restore_variant(station: Station, undo: Undo) -> None:
    """Bring a removed variant back, unless its step was given to another."""
    values = undo["values"]
    if Variant.objects.filter(station=station, step=values["step"]).exists():
        raise FloorRefused(
            f"{station} has another variant on step {values['step']} now. Move that one first."
        )
    Variant.objects.create(station=station, **values)


def _own_variant(station: Station, variant: Variant) -> Variant:
    found = Variant.objects.filter(station=station, pk=variant.pk).first()
    if found is None:
        raise FloorRefused(f"This variant is no longer at {station}. Look at the list again.")
    return found
