"""What the engine suggests for a sheet: whom to check at what, and who practises what on the floor.

All of it is worked out from what was known as the day began, so that the columns of a sheet hold
still while a class is recorded, on every phone and on paper, whoever opens it first.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from progress.engine.answers import NextCheck, Suggestion
from progress.engine.rules import HeightRule
from progress.models import GymClass, Loop, Variant
from progress.usecases.know_athletes import Known
from progress.usecases.plans.setting import setting_of
from progress.usecases.see_class import loops_for, plan_around

Pair = tuple[str, str]  # codes of an athlete and a skill


@dataclass(frozen=True)
class Suggested:
    """``checks`` and ``plans`` by athlete and skill; ``variants`` on this floor by skill code.

    A plan is the first variant on which the athlete would practise the skill.
    """

    morning: Known
    checks: Mapping[Pair, NextCheck]
    plans: Mapping[Pair, Suggestion]
    variants: Mapping[str, Sequence[Variant]]

    @classmethod
    def read(cls, gym_class: GymClass, morning: Known) -> "Suggested":
        """Plan the class as it stood in the ``morning``, everybody here: four queries at most.

        What a coach fixed by hand in the plan and the adults on the floor count; the register
        does not.
        """
        day = morning.holds.today
        loops = loops_for(gym_class, list(Loop.objects.on_floor(day)))
        setting = setting_of(gym_class, day, morning.athletes)
        plan = plan_around(morning, range(len(morning.athletes)), setting, loops)
        variants = _variants(loops)
        skill_of = {v.code: code for code, practising in variants.items() for v in practising}
        plans: dict[Pair, Suggestion] = {}
        for one in plan.suggestions:
            if one.variant:
                plans.setdefault((one.athlete, skill_of[one.variant]), one)
        checks = {(check.athlete, check.skill): check for check in reversed(morning.checks)}
        return cls(morning, checks, plans, variants)

    @cached_property
    def asked(self) -> Counter[str]:
        """For how many athletes each skill is worth checking."""
        return Counter(skill for _, skill in self.checks)

    @cached_property
    def practised(self) -> Counter[str]:
        """How many athletes, not secure at it yet, practise each skill on the floor."""
        seen = self.morning.picture
        column = seen.catalogue.position
        return Counter(
            skill
            for athlete, skill in self.plans
            if not seen.secure[seen.place[athlete], column[skill]]
        )

    def ranked(self) -> list[str]:
        """Skills asked for or practised, most asked for first, then in catalogue order."""
        asked, practised = self.asked, self.practised
        order = sorted(self.morning.skills, key=lambda code: (-asked[code], -practised[code]))
        return [code for code in order if asked[code] or practised[code]]

    def height_rules(self, skill: str) -> tuple[HeightRule, ...]:
        """The rules that a variant of this skill on tonight's floor is high enough for."""
        heights = [variant.height_m or 0.0 for variant in self.variants.get(skill, ())]
        highest = max(heights, default=0.0)
        rules = self.morning.picture.rules.height_rules
        return tuple(rule for rule in rules if highest > rule.above_m)


def _variants(loops: Sequence[Loop]) -> dict[str, list[Variant]]:
    found: dict[str, list[Variant]] = {}
    for loop in loops:
        for stop in loop.stops.all():
            for variant in stop.station.variants.all():
                found.setdefault(variant.skill.code, []).append(variant)
    return found
