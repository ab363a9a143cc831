"""Plan a class: who starts on which loop, and everybody's variants when their group is there."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.answers import Suggestion
from progress.engine.assignment import share_out
from progress.engine.loop_plan import Choices, Limits, plan_loops, suggest
from progress.engine.picture import Picture
from progress.engine.shortfalls import Shortfall
from progress.engine.terms import Loop

NOTHING_FITS = 1.0  # cost of a station where nothing fits, against distances from the target


@dataclass(frozen=True)
class ClassPlan:
    """``starts``: loop code by row, for everybody not on a full hold.

    ``suggestions`` are ordered by loop, then as the rows were given, then by station.
    ``shortfalls`` name the limits that kept somebody from a variant that fits.
    """

    suggestions: tuple[Suggestion, ...]
    starts: Mapping[int, str]
    shortfalls: tuple[Shortfall, ...] = ()


def plan_class(
    picture: Picture,
    rows: Sequence[int],
    loops: Sequence[Loop],
    limits: Limits,
    choices: Choices | None = None,
) -> ClassPlan:
    """Share the athletes of ``rows`` out over ``loops`` and suggest variants on every loop.

    A group stays together from loop to loop, so places and spotters are shared within a group.
    Sizes differ by at most one, unless ``choices`` fixed by hand say otherwise. With
    ``limits.count_places`` off everybody is planned alone.
    """
    choices = choices or Choices()
    freely = suggest(picture, rows, loops, Limits(count_places=False), choices)
    if not limits.count_places:
        return ClassPlan(freely, {})
    starts = _starts(picture, rows, loops, freely, choices)
    groups: dict[str | None, list[int]] = {}
    for row in rows:
        groups.setdefault(starts.get(row), []).append(row)
    plans = [
        plan
        for group in groups.values()
        for plan in plan_loops(picture, group, loops, limits, choices)
    ]
    found = [suggestion for plan in plans for suggestion in plan.suggestions]
    loop_at = {loop.code: number for number, loop in enumerate(loops)}
    row_at = {picture.athletes[row].code: number for number, row in enumerate(rows)}
    found.sort(key=lambda plan: (loop_at[plan.loop], row_at[plan.athlete]))
    return ClassPlan(tuple(found), starts, tuple(s for plan in plans for s in plan.shortfalls))


def _starts(
    picture: Picture,
    rows: Sequence[int],
    loops: Sequence[Loop],
    plans: Sequence[Suggestion],
    choices: Choices,
) -> dict[int, str]:
    """The loop each athlete starts on: the best fit over all, sizes balanced, choices first."""
    active = [row for row in rows if not picture.athletes[row].held]
    codes = [loop.code for loop in loops]
    fixed = {row: choices.starts[row] for row in active if choices.starts.get(row) in codes}
    free = [row for row in active if row not in fixed]
    if not loops:
        return {}
    centre = picture.rules.target_centre
    far: dict[tuple[str, str], list[float]] = {}
    for plan in plans:
        cost = NOTHING_FITS if plan.chance is None else abs(plan.chance - centre)
        far.setdefault((plan.athlete, plan.loop), []).append(cost)
    costs = np.array(
        [
            [np.mean(far.get((picture.athletes[row].code, loop.code), [0.0])) for loop in loops]
            for row in free
        ]
    ).reshape(len(free), len(loops))
    taken = [list(fixed.values()).count(code) for code in codes]
    shared = zip(free, share_out(costs, taken), strict=True)
    return fixed | {row: codes[at] for row, at in shared}
