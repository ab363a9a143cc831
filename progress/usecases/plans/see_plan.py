"""A coach looks at the plan of a class: groups, variants, waiting lines and what to look at."""

from dataclasses import dataclass
from datetime import date
from math import ceil

from progress.engine.safety import adults_needed
from progress.engine.safety_facts import Prompt
from progress.models import GymClass
from progress.usecases.plans.cautions import cautions_of, group_of, limits_of
from progress.usecases.plans.lines import Lines, Turn, lines_of
from progress.usecases.see_class import ClassTonight, see_class


@dataclass(frozen=True)
class Plan:
    """``adults_needed``: at least so many for those who are here, by the ratios in force."""

    tonight: ClassTonight
    lines: Lines
    cautions: tuple[Prompt, ...]
    adults_needed: int


def see_plan(*, gym_class: GymClass, day: date) -> Plan:
    """The class's plan for ``day``, today or later: no more queries than the class page."""
    tonight = see_class(gym_class=gym_class, today=day)
    rules = tonight.known.picture.rules
    lines = lines_of(tonight.loops, _starts(tonight), _turns(tonight), rules)
    here = [each.athlete for each in tonight.athletes if not each.away]
    group = group_of(here, tonight.setting.adults, day, _crowds(lines))
    return Plan(
        tonight,
        lines,
        cautions_of(tonight.loops, group, rules, day),
        adults_needed(group.children, group.youngest_age, limits_of(rules)),
    )


def _starts(tonight: ClassTonight) -> dict[str, int]:
    """How many children start on each loop."""
    starts = [each.starts_on for each in tonight.athletes if each.starts_on]
    return {loop.code: starts.count(loop.code) for loop in tonight.loops}


def _turns(tonight: ClassTonight) -> list[Turn]:
    """The turns of every child on the loop they start on."""
    return [
        Turn(plan.loop, plan.station, plan.variant)
        for each in tonight.athletes
        if each.starts_on
        for plan in each.suggestions.get(each.starts_on, ())
        if plan.variant
    ]


def _crowds(lines: Lines) -> dict[str, int]:
    """Children expected at each station at one time, in line and on it."""
    if lines.flow is None:
        return {}
    return {wait.code: ceil(wait.in_line + wait.on_it - 1e-9) for wait in lines.flow.stations}
