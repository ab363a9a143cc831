"""The made-up children: how old they are, when they came, what their year is about."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from progress.usecases.made_up_gym.scenario import WELL_CHECKED, ClassPlan, Scenario, Story
from progress.usecases.made_up_gym.year import Year, past_meetings

# Chances of tiers 1 to 4 by age: many in the first two, few in the last.
TIERS_BY_AGE = (
    (7.0, (0.85, 0.15, 0.0, 0.0)),
    (9.0, (0.45, 0.42, 0.13, 0.0)),
    (11.0, (0.18, 0.36, 0.33, 0.13)),
    (99.0, (0.08, 0.25, 0.36, 0.31)),
)
HIGHEST_TIER = {Story.READY: 3, Story.STUCK: 2, Story.NEW: 1, Story.PLATEAU: 3, Story.NEARLY: 3}
LONG_HERE = {*WELL_CHECKED, Story.PLATEAU, Story.HELD, Story.BACK, Story.AWAY, Story.LEFT}
# Weeks before today between which a child did not come.
AWAY_WEEKS = {Story.HELD: (12 / 7, 0.0), Story.BACK: (33 / 7, 6 / 7), Story.AWAY: (5.0, 0.0)}
DAYS_IN_YEAR = 365.25
YOUNGEST_AT_START = 3.1  # years


@dataclass(frozen=True)
class ChildPlan:
    """A made-up child. ``away`` are the first day away and the first day back."""

    code: str
    name: str
    birth: date
    tier: int
    joined: date
    left: date | None
    away: tuple[date, date] | None
    class_: ClassPlan
    story: Story

    def here_on(self, day: date) -> bool:
        """Whether the child has a place on ``day``."""
        return self.joined <= day and (self.left is None or day < self.left)

    def away_on(self, day: date) -> bool:
        """Whether the child stays away on ``day`` for longer than a missed class."""
        return self.away is not None and self.away[0] <= day < self.away[1]

    def age_on(self, day: date) -> float:
        """Age in years."""
        return (day - self.birth).days / DAYS_IN_YEAR


def plan_children(rng: np.random.Generator, scenario: Scenario, year: Year) -> list[ChildPlan]:
    """Draw every child of every class, still without a name."""
    children: list[ChildPlan] = []
    for class_ in scenario.classes:
        for story in class_.stories:
            code = f"A{len(children) + 1:03d}"
            children.append(plan_child(rng, code, class_, story, year))
    return children


def plan_child(
    rng: np.random.Generator, code: str, class_: ClassPlan, story: Story, year: Year
) -> ChildPlan:
    """Draw one child's dates and tier."""
    birth = first_of_month(year.today - age_in_days(rng.uniform(class_.youngest, class_.oldest)))
    age = (year.today - birth).days / DAYS_IN_YEAR
    joined = draw_joined(rng, class_, story, birth, year)
    tier = 1 if class_.small_area else draw_tier(rng, age, story)
    away = AWAY_WEEKS.get(story)
    return ChildPlan(
        code=code,
        name="",
        birth=birth,
        tier=min(tier, 2) if joined > year.first_day else tier,
        joined=joined,
        left=draw_left(rng, class_, year) if story is Story.LEFT else None,
        away=(year.days(away[0]), year.days(away[1])) if away else None,
        class_=class_,
        story=story,
    )


def age_in_days(years: float) -> timedelta:
    """A length of life as whole days."""
    return timedelta(days=round(years * DAYS_IN_YEAR))


def first_of_month(day: date) -> date:
    """The first day of the month, as exact as birth dates are kept."""
    return day.replace(day=1)


def draw_tier(rng: np.random.Generator, age: float, story: Story) -> int:
    """Draw a tier for this age, no higher than the story allows."""
    chances = next(chances for below, chances in TIERS_BY_AGE if age < below)
    return min(int(rng.choice(4, p=chances)) + 1, HIGHEST_TIER.get(story, 4))


def draw_joined(
    rng: np.random.Generator, class_: ClassPlan, story: Story, birth: date, year: Year
) -> date:
    """Draw the day a child joined: a class day during the year, or some day long before it."""
    days = [meeting.day for meeting in past_meetings(class_, year)]
    if story is Story.NEW:
        return days[-1]
    earliest = birth + age_in_days(YOUNGEST_AT_START)
    long_before = year.first_day - timedelta(days=int(rng.integers(7, 700)))
    during = days[int(rng.integers(1, len(days) - 6))]
    settled = story in LONG_HERE or rng.random() < 0.80
    return max(long_before if settled else during, earliest)


def draw_left(rng: np.random.Generator, class_: ClassPlan, year: Year) -> date:
    """Draw the day after a child's last class, some weeks ago."""
    days = [meeting.day for meeting in past_meetings(class_, year)]
    return days[-int(rng.integers(3, 15))] + timedelta(days=1)
