"""Small hand-made gyms: a few skills, a few tries, and the engine's picture of them.

Days count back from ``TODAY``: ``ago=0`` is the day asked, whatever the date.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from progress.engine.log import Log, gather
from progress.engine.parameters import Parameters
from progress.engine.picture import Picture, picture
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, Result, Skill
from tests.simulated_gyms import SimulatedGym

TODAY = 739_000
KIM, LEE = "kim", "lee"
MISS, ASSISTED, CLEAN = "miss", "assisted", "clean"


@dataclass(frozen=True)
class Try:
    """One try, ``ago`` days before TODAY; tries of one day are told apart by fractions."""

    athlete: str
    skill: str
    result: str = CLEAN
    ago: float = 0.0
    coach: str = KIM
    variant: str = ""

    @property
    def row(self) -> tuple[str, str, float, int, str, str]:
        """The try as the engine's six columns."""
        level = Result(self.result).level
        return self.athlete, self.skill, TODAY + 0.75 - self.ago, level, self.coach, self.variant


def tries(
    athlete: str,
    skill: str,
    results: str,
    *,
    ago: Sequence[float] = (1.0,),
    coaches: Sequence[str] = (KIM, LEE),
) -> list[Try]:
    """A history from a word like "mac": miss, assisted, clean, the oldest first.

    Results are dealt evenly over the days (given oldest first), coaches in turn.
    """
    words = {"m": MISS, "a": ASSISTED, "c": CLEAN}
    days = [ago[number * len(ago) // len(results)] for number in range(len(results))]
    return [
        Try(
            athlete,
            skill,
            words[letter],
            ago=day - 0.001 * number,
            coach=coaches[number % len(coaches)],
        )
        for number, (letter, day) in enumerate(zip(results, days, strict=True))
    ]


def log_of(catalogue: Catalogue, athletes: Iterable[str], rows: Sequence[Try]) -> Log:
    """The log of these tries."""
    columns = list(zip(*(one.row for one in rows), strict=True)) or [()] * 6
    return gather(catalogue, list(athletes), columns)


def picture_of(
    catalogue: Catalogue,
    athletes: Sequence[Athlete] | Sequence[str],
    rows: Sequence[Try],
    *,
    rules: Rules | None = None,
    parameters: Parameters | None = None,
    **pauses: Any,
) -> Picture:
    """What is known at the end of TODAY; athletes given by code are in tier 1."""
    people = [Athlete(one, 1) if isinstance(one, str) else one for one in athletes]
    log = log_of(catalogue, [person.code for person in people], rows)
    before = parameters or Parameters.before_any_log(catalogue)
    return picture(catalogue, people, log, before, rules or Rules(), TODAY, **pauses)


def landing_and_hanging() -> Catalogue:
    """Two ladders over two tiers: landing skills are gates, hanging needs landing."""
    return Catalogue(
        (
            Skill("LAND-1", "landing", 1, name="Land still", gate=True),
            Skill(
                "LAND-2", "landing", 2, name="Land from knee height", gate=True, needs=("LAND-1",)
            ),
            Skill("HANG-1", "hanging", 1, name="Hang"),
            Skill("HANG-2", "hanging", 2, name="Travel", needs=("HANG-1", "LAND-1")),
        )
    )


def surer(catalogue: Catalogue, **changes: Any) -> Parameters:
    """Starting values with hardly any doubt about difficulties."""
    before = Parameters.before_any_log(catalogue)
    count = len(catalogue.skills)
    return replace(before, **{"difficulty_sd": np.full(count, 0.1), **changes})


# Enough clean tries to be secure by any default rule: many, lately, on two days, by two coaches.
SECURE = "cccccccccccc"
LATELY = (8.0, 1.0)


def secure_at(athlete: str, *skills: str) -> list[Try]:
    """Tries that make an athlete secure at these skills."""
    return [one for skill in skills for one in tries(athlete, skill, SECURE, ago=LATELY)]


def picture_of_gym(gym: SimulatedGym, parameters: Parameters) -> Picture:
    """What is known of a simulated gym on its last day."""
    return picture(gym.catalogue, gym.athletes, gym.log, parameters, Rules(), gym.on_day)
