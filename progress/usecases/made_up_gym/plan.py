"""The whole made-up gym as plain values, before anything is stored."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np

from progress.usecases.made_up_gym.ability import Truth, draw_ability, draw_truth
from progress.usecases.made_up_gym.checks import AttemptPlan, Book, plan_attempts
from progress.usecases.made_up_gym.floors import Floors, lay_floors
from progress.usecases.made_up_gym.moves import Diary, MovePlan, plan_moves
from progress.usecases.made_up_gym.names import GuardianPlan, name_everyone
from progress.usecases.made_up_gym.people import ChildPlan, plan_children
from progress.usecases.made_up_gym.register import Register, plan_register
from progress.usecases.made_up_gym.scenario import Scenario, Story
from progress.usecases.made_up_gym.visits import Hall, Pupil, careful_visits
from progress.usecases.made_up_gym.year import Year, year_up_to

NOTICED_SD = 0.3  # some children catch the eye, others are overlooked
DAYS_TO_REVIEW = 9
MOVES = 1  # beside the seed, tells the dice of the moves up from those of everything else


@dataclass(frozen=True)
class HoldPlan:
    """A hold on one child; ``lifted`` is None while it is in force."""

    athlete: str
    starts: date
    review: date
    lifted: date | None


@dataclass(frozen=True)
class GymPlan:
    """Everything that will be stored."""

    scenario: Scenario
    year: Year
    floors: Floors
    children: Sequence[ChildPlan]
    guardians: Sequence[GuardianPlan]
    holds: Sequence[HoldPlan]
    register: Register
    attempts: Sequence[AttemptPlan]
    moves: Sequence[MovePlan]


def plan_gym(
    *, seed: int, today: date, catalogue: Mapping[str, Any], scenario: Scenario
) -> GymPlan:
    """Draw a gym by lot: the same seed and day give the same gym."""
    rng = np.random.default_rng(seed)
    year = year_up_to(today)
    truth = draw_truth(rng, catalogue["skills"])
    floors = lay_floors(rng, scenario, year, catalogue["stations"])
    children, guardians = name_everyone(rng, scenario, plan_children(rng, scenario, year))
    register = plan_register(rng, children, year)
    pupils = [plan_pupil(rng, truth, child, year) for child in children]
    book = Book(
        seed=seed,
        hall=Hall(truth, floors, year),
        severity={member.code: member.severity for member in scenario.staff},
        notes=scenario.words["notes"],
    )
    attempts = plan_attempts(rng, book, pupils, register)
    # Dice of their own: what came before stays as it was.
    diary = Diary.of(book.hall, register, attempts, catalogue["tiers"])
    moves = plan_moves(np.random.default_rng([seed, MOVES]), diary, pupils)
    return GymPlan(
        scenario=scenario,
        year=year,
        floors=floors,
        children=children,
        guardians=guardians,
        holds=plan_holds(children, today),
        register=register,
        attempts=attempts,
        moves=moves,
    )


def plan_pupil(rng: np.random.Generator, truth: Truth, child: ChildPlan, year: Year) -> Pupil:
    """Draw what a child can do, and plan their last weeks where the story asks for it."""
    ability = draw_ability(rng, truth, child, year)
    noticed = float(rng.lognormal(0, NOTICED_SD))
    return Pupil(child, ability, noticed, careful_visits(truth, child, ability, year))


def plan_holds(children: Sequence[ChildPlan], today: date) -> list[HoldPlan]:
    """One hold in force with a day to ask again, and one lifted when the child came back."""
    holds = []
    for child in children:
        if child.away is None or child.story not in (Story.HELD, Story.BACK):
            continue
        starts, back = child.away
        in_force = child.story is Story.HELD
        review = (today if in_force else back) + timedelta(days=DAYS_TO_REVIEW if in_force else 0)
        holds.append(HoldPlan(child.code, starts, review, None if in_force else back))
    return holds
