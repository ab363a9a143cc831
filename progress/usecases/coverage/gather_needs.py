"""Who uses a floor, and which skills hold each of them back."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from progress.engine.station_demand import Need
from progress.models import Athlete, Enrolment, GymClass
from progress.usecases.know_athletes import Known


@dataclass(frozen=True)
class Children:
    """The athletes of some classes, once each; ``small`` says by key in which kind of area they
    train: True for the small area, False for the hall, both for a child in classes of both."""

    athletes: tuple[Athlete, ...]
    small: Mapping[int, frozenset[bool]]


def children_of(classes: Iterable[GymClass], today: date) -> Children:
    """Everybody enrolled in these classes today, by name: one query."""
    enrolments = (
        Enrolment.objects.running_on(today)
        .filter(
            Q(athlete__left__isnull=True) | Q(athlete__left__gt=today),
            gym_class__in=list(classes),
        )
        .select_related("athlete", "gym_class")
        .order_by("athlete__name", "athlete__code")
    )
    athletes: dict[int, Athlete] = {}
    small: dict[int, frozenset[bool]] = {}
    for one in enrolments:
        athletes[one.athlete_id] = one.athlete
        before = small.get(one.athlete_id, frozenset())
        small[one.athlete_id] = before | {one.gym_class.small_area}
    return Children(tuple(athletes.values()), small)


def shares(count: int) -> list[float]:
    """How a child's one vote is shared among its skills, the weightiest first.

    In steps of equal size: three skills get 3, 2 and 1 sixths. The sum is 1.
    """
    whole = count * (count + 1) / 2
    return [(count - place) / whole for place in range(count)]


def on_hold(known: Known) -> frozenset[int]:
    """Rows of children whom a hold keeps from everything; no floor serves them."""
    return frozenset(row for row, child in enumerate(known.picture.athletes) if child.held)


def needs_of(
    known: Known, small: Mapping[int, frozenset[bool]], areas: Mapping[bool, Sequence[str]]
) -> tuple[Need, ...]:
    """What holds each child back, in shares of 1; children on hold are left out.

    ``areas`` are the floor's areas of each kind, by the engine's codes.
    """
    needs = []
    held = on_hold(known)
    for row, athlete in enumerate(known.athletes):
        if row in held:
            continue
        trains = [code for kind in sorted(small[athlete.pk]) for code in areas.get(kind, ())]
        if not trains:
            continue
        skills = known.readiness[row].holding_back
        needs += [
            Need(athlete.code, skill, weight, trains[0], tuple(trains[1:]))
            for skill, weight in zip(skills, shares(len(skills)), strict=True)
        ]
    return tuple(needs)
