"""Who came to which meeting of the made-up gym."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from progress.usecases.made_up_gym.people import ChildPlan
from progress.usecases.made_up_gym.scenario import WELL_CHECKED, Story
from progress.usecases.made_up_gym.year import MeetingPlan, Year, past_meetings

KEEN = 40.0  # how alike the children are in coming; higher is more alike
MEAN_ATTENDANCE = 0.90
CAREFUL_DAYS = 56  # the well checked miss no class in this time

Register = dict[tuple[str, date], dict[str, bool]]


def plan_register(rng: np.random.Generator, children: Sequence[ChildPlan], year: Year) -> Register:
    """Draw who was present, by class code and day, then by athlete code."""
    register: Register = {}
    for child in children:
        rate = rng.beta(KEEN * MEAN_ATTENDANCE, KEEN * (1 - MEAN_ATTENDANCE))
        for meeting in past_meetings(child.class_, year):
            if child.here_on(meeting.day):
                came = bool(rng.random() < rate)
                row = register.setdefault((child.class_.code, meeting.day), {})
                row[child.code] = comes(child, meeting, year, came)
    return register


def comes(child: ChildPlan, meeting: MeetingPlan, year: Year, drawn: bool) -> bool:
    """What the story says about coming to a meeting, or else what the lot said."""
    if child.away_on(meeting.day):
        return False
    careful = child.story in WELL_CHECKED
    if child.story is Story.NEW or (careful and (year.today - meeting.day).days < CAREFUL_DAYS):
        return True
    return drawn
