"""What the pages of sign-offs say about moments, rooms and moves."""

from collections.abc import Sequence
from datetime import datetime

from django.utils import timezone

from progress.models import GymClass, SignOff
from progress.pages.shared.words import day_in_words
from progress.usecases.sign_offs.see_places import ClassPlaces
from progress.usecases.sign_offs.undo import undo_until

MOST_NAMED = 6


def moment_in_words(moment: datetime, now: datetime) -> str:
    """``today 14:05``, ``tomorrow 14:05`` or ``Tue 3 Mar 14:05``, at the venue."""
    local, today = timezone.localtime(moment), timezone.localdate(now)
    ahead = (local.date() - today).days
    days = {0: "today", 1: "tomorrow", -1: "yesterday"}
    return f"{days.get(ahead) or day_in_words(local.date())} {local:%H:%M}"


def moved_in_words(moved: Sequence[SignOff], now: datetime) -> str:
    """Who moved up and until when that can be undone."""
    named = [f"{one.athlete} to {one.to_tier}" for one in moved[:MOST_NAMED]]
    more = len(moved) - len(named)
    names = ", ".join(named) + (f" and {more} more" if more else "")
    until = moment_in_words(undo_until(moved[0]), now)
    if len(moved) == 1:
        return f"Moved up: {names}. You can undo this until {until}."
    return f"{len(moved)} athletes moved up: {names}. You can undo this until {until}."


def when(gym_class: GymClass) -> str:
    """``Monday 16:30``; says so where the day is not set."""
    day = gym_class.get_weekday_display() or "Day not set"
    return f"{day} {gym_class.starts_at:%H:%M}" if gym_class.starts_at else str(day)


def room(one: ClassPlaces) -> str:
    """``3 free``, ``full``, ``full, 2 over`` or ``places not counted``."""
    if one.free is None:
        return "places not counted"
    if one.over:
        return f"full, {one.over} over"
    return "full" if one.full else f"{one.free} free"


def later(one: ClassPlaces) -> str:
    """Who comes and goes later, in a few words."""
    parts = [f"{one.coming} to come"] if one.coming else []
    parts += [f"{one.leaving} to leave"] if one.leaving else []
    return ", ".join(parts)
