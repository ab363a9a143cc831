"""Which skills a made-up coach looks at: whom, what, how often. The honest gaps are made here."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from progress.usecases.made_up_gym.ability import MOST_NEEDED, Ability, Floats, Truth
from progress.usecases.made_up_gym.floors import Floors
from progress.usecases.made_up_gym.people import ChildPlan
from progress.usecases.made_up_gym.register import CAREFUL_DAYS
from progress.usecases.made_up_gym.scenario import WELL_CHECKED, ClassPlan, Story
from progress.usecases.made_up_gym.year import MeetingPlan, Year, past_meetings

SKILLS_A_CHECK = (0.10, 0.30, 0.60)  # chances of 1, 2 or 3 skills
TRIES_A_SKILL = (0.12, 0.36, 0.52)
TRIES_A_GATE = (0.05, 0.40, 0.55)
MISSED_BY_THE_COACH = 0.07  # share of meetings after which nothing was recorded
SHARE_CHECKED = (0.48, 0.62)  # of those present, where anything was recorded
TRIED_ABOVE = 0.5  # a need counts as met where the chance of a clean try is above this
TAUGHT_EVERYWHERE = ("LAND", "FALL", "DOWN", "FLOW")
SKILLS_ON_A_CAREFUL_DAY = 3
WHO_CHECKS = (0.82, 0.15, 0.03)  # first coach, second coach, lead
WHO_CHECKS_GATES = (0.70, 0.26, 0.04)


@dataclass(frozen=True)
class Pupil:
    """A child with what they can do and how readily coaches turn to them."""

    child: ChildPlan
    ability: Ability
    noticed: float
    careful: Mapping[date, Sequence["Visit"]]


@dataclass(frozen=True)
class Visit:
    """One coach looks at one skill of one child: so many tries."""

    skill: int
    coach: str
    tries: int
    sure: bool = False  # every try is clean


@dataclass(frozen=True)
class Hall:
    """What a choice of skills depends on besides the child."""

    truth: Truth
    floors: Floors
    year: Year

    @cached_property
    def anywhere(self) -> NDArray[np.bool_]:
        """Skills that need no station."""
        return np.array([skill["ladder"] in TAUGHT_EVERYWHERE for skill in self.truth.skills])

    def standing(self, week: int, class_: ClassPlan) -> Floats:
        """How much more or less likely each skill is checked for what stands on the floor."""
        variants = self.floors.variants(week, class_)
        if variants is None:
            return np.ones(len(self.truth.skills))
        on_floor = {variant["skill"] for variant in variants}
        there = np.array([code in on_floor for code in self.truth.codes])
        return np.where(there, 2.5, np.where(self.anywhere, 1.0, 0.3))


def skill_weights(hall: Hall, pupil: Pupil, meeting: MeetingPlan) -> Floats:
    """How readily a coach picks each skill for this child on this day; 0 where it is too early."""
    truth, child = hall.truth, pupil.child
    open_now = ~(truth.needs & (pupil.ability.chance(truth, meeting.week) < TRIED_ABOVE)).any(
        axis=1
    )
    open_now &= truth.minimum_age <= child.age_on(meeting.day)
    if child.class_.small_area:
        gates = truth.gate & (truth.tier == 1)
        wanted = np.where(truth.early, 3.0, np.where(gates, 1.5, 0.0))
        return wanted * open_now
    above = truth.tier - pupil.ability.working_tier(meeting.week, child.tier)
    wanted = np.select([above == 0, above == -1, above == 1], [3.0, 0.8, 0.2], 0.0)
    wanted = wanted * np.where(truth.required, 1.0, 0.5) * np.where(truth.gate, 1.8, 1.0)
    wanted = wanted * (1 + truth.needed_by / MOST_NEEDED)
    return wanted * open_now * ~truth.early * hall.standing(meeting.week, child.class_)


def draw_visits(
    rng: np.random.Generator, hall: Hall, pupil: Pupil, meeting: MeetingPlan, share: float
) -> Sequence[Visit]:
    """Draw what is checked of one child on one day; most often nothing or little."""
    if meeting.day in pupil.careful:
        return pupil.careful[meeting.day]
    if pupil.child.story is Story.NEW or rng.random() >= min(0.95, share * pupil.noticed):
        return ()
    weights = skill_weights(hall, pupil, meeting)
    if not weights.any():
        return ()
    number = min(int(rng.choice(3, p=SKILLS_A_CHECK)) + 1, int((weights > 0).sum()))
    chosen = rng.choice(len(weights), size=number, replace=False, p=weights / weights.sum())
    coaches = (*pupil.child.class_.coaches, hall.floors.scenario.lead.code)
    visits = []
    for skill in chosen.tolist():
        gate = bool(hall.truth.gate[skill])
        tries = int(rng.choice(3, p=TRIES_A_GATE if gate else TRIES_A_SKILL)) + 1
        who = int(rng.choice(3, p=WHO_CHECKS_GATES if gate else WHO_CHECKS))
        visits.append(Visit(skill, coaches[who], tries))
    return visits


def draw_share(rng: np.random.Generator) -> float:
    """Draw which share of the children present is checked at one meeting."""
    if rng.random() < MISSED_BY_THE_COACH:
        return 0.0
    return float(rng.uniform(*SHARE_CHECKED))


def careful_visits(
    truth: Truth, child: ChildPlan, ability: Ability, year: Year
) -> dict[date, list[Visit]]:
    """Plan the last weeks of a well-checked child: each required skill in turn, coaches too.

    This is how a gym prepares a move: gates get three tries by one coach and three by another on
    another day. Gates come clean, except the one the child is stuck at.
    """
    if child.story not in WELL_CHECKED:
        return {}
    days = [
        meeting.day
        for meeting in past_meetings(child.class_, year)
        if (year.today - meeting.day).days < CAREFUL_DAYS and child.here_on(meeting.day)
    ]
    skills = truth.required_in(child.tier)
    turn = 0
    plan: dict[date, list[Visit]] = {}
    for day in days:
        plan[day] = []
        for _ in range(SKILLS_ON_A_CAREFUL_DAY):
            round_, place = divmod(turn, len(skills))
            skill, gate = skills[place], bool(truth.gate[skills[place]])
            coach = child.class_.coaches[round_ % 2]
            sure = gate and skill != ability.weak_at
            plan[day].append(Visit(skill, coach, 3 if gate else 2, sure=sure))
            turn += 1
    return plan
