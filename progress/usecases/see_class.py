"""A coach before class: who is ready, which variant for whom, what to check tonight."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from progress.engine.answers import Estimate, NextCheck, Readiness, Suggestion
from progress.engine.assignment import share_out
from progress.engine.variants import Limits, suggest
from progress.models import Athlete, GymClass, Hold, Loop, Setup, Skill
from progress.usecases.know_athletes import Known, know_athletes

NOT_THIS_LOOP = 1.0  # cost of a station where nothing fits, against distances from the target


@dataclass(frozen=True)
class AthleteTonight:
    """One athlete's answers for one class.

    ``suggestions`` by loop code, in station order; ``starts_on`` the code of the loop to start
    with, so that loops stay balanced.
    """

    athlete: Athlete
    readiness: Readiness
    hold: Hold | None
    estimates: dict[str, Estimate]
    suggestions: dict[str, tuple[Suggestion, ...]]
    checks: tuple[NextCheck, ...]
    last_seen: date | None
    starts_on: str | None


@dataclass(frozen=True)
class ClassTonight:
    """The answers for a class on a day; ``setup`` is None where no floor is published."""

    gym_class: GymClass
    day: date
    setup: Setup | None
    loops: tuple[Loop, ...]
    athletes: tuple[AthleteTonight, ...]
    checks: tuple[NextCheck, ...]
    skills: dict[str, Skill]


def see_class(*, gym_class: GymClass, today: date) -> ClassTonight:
    """Answer tonight's three questions for everybody enrolled in the class today."""
    known = know_athletes(athletes=list(gym_class.athletes_on(today)), today=today)
    floor = list(Loop.objects.on_floor(today))
    loops = loops_for(gym_class, floor)
    rows = range(len(known.athletes))
    plans = suggest(known.picture, rows, [loop.as_term() for loop in loops], Limits())
    starts = _starts(known, loops, plans)
    checks = known.checks
    return ClassTonight(
        gym_class=gym_class,
        day=today,
        setup=floor[0].setup if floor else None,
        loops=tuple(loops),
        athletes=tuple(
            AthleteTonight(
                athlete=athlete,
                readiness=known.readiness[row],
                hold=known.hold(athlete),
                estimates=known.estimates(row),
                suggestions=_by_loop(athlete, loops, plans),
                checks=tuple(check for check in checks if check.athlete == athlete.code),
                last_seen=known.last_checked(row),
                starts_on=starts.get(row),
            )
            for row, athlete in enumerate(known.athletes)
        ),
        checks=checks,
        skills=known.skills,
    )


def loops_for(gym_class: GymClass | None, loops: Sequence[Loop]) -> list[Loop]:
    """The loops a class uses: those of its own area, or all where its area has none."""
    if gym_class is None:
        return list(loops)
    mine = [loop for loop in loops if loop.area.small == gym_class.small_area]
    return mine or list(loops)


def _by_loop(
    athlete: Athlete, loops: Sequence[Loop], plans: Sequence[Suggestion]
) -> dict[str, tuple[Suggestion, ...]]:
    mine = [plan for plan in plans if plan.athlete == athlete.code]
    return {loop.code: tuple(p for p in mine if p.loop == loop.code) for loop in loops}


def _starts(known: Known, loops: Sequence[Loop], plans: Sequence[Suggestion]) -> dict[int, str]:
    """The loop each athlete starts on: sizes differ by at most one, the best fit wins.

    Athletes on a full hold start nowhere.
    """
    centre = known.picture.rules.target_centre
    active = [row for row, athlete in enumerate(known.picture.athletes) if not athlete.held]
    if not loops or not active:
        return {}
    cost: dict[tuple[str, str], list[float]] = {}
    for plan in plans:
        far = NOT_THIS_LOOP if plan.chance is None else abs(plan.chance - centre)
        cost.setdefault((plan.athlete, plan.loop), []).append(far)
    costs = np.array(
        [
            [np.mean(cost.get((known.athletes[row].code, loop.code), [0.0])) for loop in loops]
            for row in active
        ]
    )
    return {row: loops[at].code for row, at in zip(active, share_out(costs), strict=True)}
