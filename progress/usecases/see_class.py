"""A coach before class: who is ready, which variant for whom, what to check tonight."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from progress.engine.answers import Estimate, NextCheck, Readiness, Suggestion
from progress.engine.class_plan import ClassPlan, plan_class
from progress.engine.next_checks import next_checks
from progress.engine.shortfalls import Shortfall
from progress.models import Athlete, GymClass, Hold, Loop, Setup, Skill
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.plans.setting import Setting, athletes_for, setting_of


@dataclass(frozen=True)
class AthleteTonight:
    """One athlete's answers for one class.

    ``suggestions`` by loop code, in station order; ``starts_on`` the code of the loop to start
    with, so that loops stay balanced. Somebody marked away has neither.
    """

    athlete: Athlete
    readiness: Readiness
    holds: tuple[Hold, ...]
    estimates: dict[str, Estimate]
    suggestions: dict[str, tuple[Suggestion, ...]]
    checks: tuple[NextCheck, ...]
    last_seen: date | None
    starts_on: str | None
    away: bool


@dataclass(frozen=True)
class ClassTonight:
    """The answers for a class on a day; ``setup`` is None where no floor is published.

    ``shortfalls`` name the limits that keep somebody from a variant that fits; their rows are
    places in ``athletes``.
    """

    gym_class: GymClass
    day: date
    setup: Setup | None
    loops: tuple[Loop, ...]
    athletes: tuple[AthleteTonight, ...]
    checks: tuple[NextCheck, ...]
    skills: dict[str, Skill]
    setting: Setting
    shortfalls: tuple[Shortfall, ...]
    known: Known


def see_class(*, gym_class: GymClass, today: date) -> ClassTonight:
    """Answer tonight's three questions for everybody enrolled in the class today.

    The plan is made for those who are not marked away, around what was fixed by hand.
    """
    athletes = athletes_for(gym_class, today)
    setting = setting_of(gym_class, today, athletes)
    known = know_athletes(athletes=athletes, today=today, gym_class=gym_class)
    floor = list(Loop.objects.on_floor(today))
    loops = loops_for(gym_class, floor)
    here = setting.present(athletes)
    plan = plan_around(known, here, setting, loops)
    checks = next_checks(known.picture, here)
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
                away=athlete.pk in setting.away,
            )
            for row, athlete in enumerate(known.athletes)
        ),
        checks=checks,
        skills=known.skills,
        setting=setting,
        shortfalls=plan.shortfalls,
        known=known,
    )


def plan_around(
    known: Known, rows: Sequence[int], setting: Setting, loops: Sequence[Loop]
) -> ClassPlan:
    """The plan for these rows within the limits and around the choices of ``setting``."""
    return plan_class(
        known.picture,
        rows,
        [loop.as_term() for loop in loops],
        setting.limits,
        setting.by_hand(known.athletes),
    )


def loops_for(gym_class: GymClass | None, loops: Sequence[Loop]) -> list[Loop]:
    """The loops a class uses: those of its own kind of area; all for athletes in no class."""
    if gym_class is None:
        return list(loops)
    return [loop for loop in loops if loop.area.small == gym_class.small_area]


def _by_loop(
    athlete: Athlete, loops: Sequence[Loop], plans: Sequence[Suggestion]
) -> dict[str, tuple[Suggestion, ...]]:
    mine = [plan for plan in plans if plan.athlete == athlete.code]
    return {loop.code: tuple(p for p in mine if p.loop == loop.code) for loop in loops}
