"""A coach before class: who is ready, which variant for whom, what to check tonight."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from progress.engine.answers import Estimate, NextCheck, Readiness, Suggestion
from progress.engine.class_plan import plan_class
from progress.engine.loop_plan import Limits
from progress.models import Athlete, GymClass, Hold, Loop, Setup, Skill
from progress.usecases.know_athletes import know_athletes


@dataclass(frozen=True)
class AthleteTonight:
    """One athlete's answers for one class.

    ``suggestions`` by loop code, in station order; ``starts_on`` the code of the loop to start
    with, so that loops stay balanced.
    """

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
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
    known = know_athletes(
        athletes=list(gym_class.athletes_on(today).with_last_here(today)), today=today
    )
    floor = list(Loop.objects.on_floor(today))
    loops = loops_for(gym_class, floor)
    rows = range(len(known.athletes))
    plan = plan_class(known.picture, rows, [loop.as_term() for loop in loops], Limits())
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
                holds=known.holds.in_force(athlete),
                estimates=known.estimates(row),
                suggestions=_by_loop(athlete, loops, plan.suggestions),
                checks=tuple(check for check in checks if check.athlete == athlete.code),
                last_seen=known.last_checked(row),
                starts_on=plan.starts.get(row),
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
