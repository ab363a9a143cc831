"""What a class's plan for a day starts from: who is here, the adults, and choices by hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Subquery

from progress.engine.loop_plan import SITS_OUT, Choices, Limits
from progress.models import Athlete, GymClass, Meeting, PlanChoice, RegisterEntry


@dataclass(frozen=True)
class Setting:
    """``adults`` on the floor and ``spotters`` free for one loop, None where not written down.

    ``away``: keys of athletes marked away; everybody else is taken to be here.
    """

    adults: int | None
    spotters: int | None
    away: frozenset[int]
    choices: tuple[PlanChoice, ...]

    @property
    def limits(self) -> Limits:
        """The engine's limits."""
        return Limits(spotters=self.spotters)

    def present(self, athletes: Sequence[Athlete]) -> list[int]:
        """Places in ``athletes`` of those who are here."""
        return [row for row, athlete in enumerate(athletes) if athlete.pk not in self.away]

    def by_hand(self, athletes: Sequence[Athlete]) -> Choices:
        """The choices in the engine's words, athletes by their place."""
        row_of = {athlete.pk: row for row, athlete in enumerate(athletes)}
        mine = [choice for choice in self.choices if choice.athlete_id in row_of]
        return Choices(
            starts={
                row_of[choice.athlete_id]: choice.loop.code
                for choice in mine
                if choice.loop is not None
            },
            variants={
                (row_of[choice.athlete_id], choice.station.code): choice.variant.code
                if choice.variant is not None
                else SITS_OUT
                for choice in mine
                if choice.station is not None
            },
        )


def athletes_for(gym_class: GymClass, day: date) -> list[Athlete]:
    """Everybody enrolled, by name, with all that ``setting_of`` asks: one query."""
    meeting = Meeting.objects.filter(gym_class=gym_class, day=day)
    away = RegisterEntry.objects.filter(
        meeting__gym_class=gym_class, meeting__day=day, athlete=OuterRef("pk"), present=False
    )
    choices = PlanChoice.objects.standing().filter(gym_class=gym_class, day=day)
    return list(
        gym_class.athletes_on(day)
        .with_last_here(day)
        .annotate(
            marked_away=Exists(away),
            has_choice=Exists(choices.filter(athlete=OuterRef("pk"))),
            adults_here=Subquery(meeting.values("adults")[:1]),
            spotters_here=Subquery(meeting.values("spotters")[:1]),
        )
    )


def setting_of(gym_class: GymClass, day: date, athletes: Sequence[Athlete]) -> Setting:
    """The setting of athletes read by ``athletes_for``: one query where there are choices."""
    said: Any = athletes[0] if athletes else None
    chosen = any(getattr(athlete, "has_choice", False) for athlete in athletes)
    return Setting(
        adults=_else(said and said.adults_here, gym_class.adults),
        spotters=_else(said and said.spotters_here, gym_class.spotters),
        away=frozenset(a.pk for a in athletes if getattr(a, "marked_away", False)),
        choices=tuple(PlanChoice.objects.of(gym_class, day)) if chosen else (),
    )


def _else(today: int | None, usually: int | None) -> int | None:
    return usually if today is None else today
