"""What stood on the made-up gym's floor in each teaching week, and how hard it truly was."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from progress.usecases.made_up_gym.scenario import ClassPlan, Scenario, WeekPlan
from progress.usecases.made_up_gym.year import Year

VARIANT_SD = 0.2  # logits around the difficulty that the library gives


@dataclass(frozen=True)
class Floors:
    """``weeks`` by teaching week (the last ones only), ``stations`` by code,
    ``difficulty`` of each variant in logits against its skill."""

    scenario: Scenario
    weeks: Mapping[int, WeekPlan]
    stations: Mapping[str, Mapping[str, Any]]
    difficulty: Mapping[str, float]

    def variants(self, week: int, class_: ClassPlan) -> list[Mapping[str, Any]] | None:
        """Variants that a class found in a week, None where no floor was recorded."""
        if week not in self.weeks:
            return None
        standing = self.weeks[week].stations(self.scenario.areas_of(class_))
        return [variant for code in sorted(standing) for variant in self.stations[code]["variants"]]


def lay_floors(
    rng: np.random.Generator,
    scenario: Scenario,
    year: Year,
    stations: Sequence[Mapping[str, Any]],
) -> Floors:
    """Give the last teaching weeks their floors; the last floor stands in the week of today."""
    first = year.last_week + 1 - len(scenario.weeks)
    weeks = {first + number: week for number, week in enumerate(scenario.weeks)}
    difficulty = {
        variant["code"]: (variant["difficulty"] or 0.0) + float(rng.normal(0, VARIANT_SD))
        for station in stations
        for variant in station["variants"]
    }
    return Floors(scenario, weeks, {station["code"]: station for station in stations}, difficulty)
