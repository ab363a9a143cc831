"""Which day a plan is asked for: today, or a later day on which the class meets."""

from datetime import date, timedelta

from django.utils.dateparse import parse_date

from progress.models import GymClass, Meeting
from progress.pages.shared.words import day_in_words

FARTHEST = timedelta(weeks=26)
SHOWN = 3  # later meetings to choose from


class NoPlanForDay(ValueError):
    """There is no plan for such a day; the message says why."""


def asked_day(gym_class: GymClass, asked: str, today: date) -> date:
    """The day asked for, today where none is named. Raises NoPlanForDay."""
    if not asked:
        return today
    try:
        day = parse_date(asked)
    except ValueError:
        day = None
    if day is None:
        raise NoPlanForDay(f"“{asked[:40]}” is no day. Write it like {today.isoformat()}.")
    if day < today:
        raise NoPlanForDay(f"{day:%A} {day.day} {day:%B %Y} is over. Plan today or a later day.")
    if day > today + FARTHEST:
        raise NoPlanForDay("That is more than half a year ahead: too far to plan for.")
    if day != today and not _meets(gym_class, day):
        raise NoPlanForDay(f"The class does not meet on {day_in_words(day)}.")
    return day


def days_to_plan(gym_class: GymClass, today: date) -> list[date]:
    """Today, and the next days of the class's weekday."""
    if gym_class.weekday is None:
        return [today]
    ahead = (gym_class.weekday - today.weekday()) % 7 or 7
    first = today + timedelta(days=ahead)
    return [today, *(first + timedelta(weeks=weeks) for weeks in range(SHOWN))]


def _meets(gym_class: GymClass, day: date) -> bool:
    if gym_class.weekday == day.weekday():
        return True
    return Meeting.objects.filter(gym_class=gym_class, day=day).exists()
