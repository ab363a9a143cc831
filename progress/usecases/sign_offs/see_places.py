"""Where there is room for each tier, and who waits for a place since moving."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, F, OuterRef, Q, QuerySet
from django.utils import timezone

from progress.models import Athlete, Enrolment, GymClass, SignOff, Tier

LAST_OF_WEEK = 7  # classes without a weekday come after Sunday


@dataclass(frozen=True)
class ClassPlaces:
    """Room in one class. ``tiers`` are those it is for, none for all.

    ``enrolled`` today; ``coming`` start later and ``leaving`` have a last day. ``free`` places for
    somebody who starts now and stays: never more than on the fullest day to come. None where the
    class's places are not counted.
    """

    gym_class: GymClass
    tiers: frozenset[int]
    enrolled: int
    coming: int
    leaving: int
    free: int | None

    @property
    def over(self) -> int:
        """How many more are in the class than it has places."""
        return 0 if self.free is None else max(0, -self.free)

    @property
    def full(self) -> bool:
        """Whether nobody can be given a place."""
        return self.free is not None and self.free <= 0

    def is_for(self, tier: int) -> bool:
        """Whether the class is for this tier."""
        return not self.tiers or tier in self.tiers


@dataclass(frozen=True)
class Waiting:
    """Somebody in no class for their tier; ``classes`` are those they are in."""

    sign_off: SignOff
    athlete: Athlete
    days: int
    classes: tuple[Enrolment, ...]


@dataclass(frozen=True)
class TierPlaces:
    """One tier with the classes for it by weekday and time, and who waits, the longest first."""

    tier: Tier
    classes: tuple[ClassPlaces, ...]
    waiting: tuple[Waiting, ...]


def see_places(*, today: date) -> tuple[TierPlaces, ...]:
    """Every tier, from the lowest up: five queries."""
    running = list(_running(today))
    rooms = _rooms(running, today)
    waiting = _waiting(rooms, running, today)
    return tuple(
        TierPlaces(
            tier=tier,
            classes=classes_for(tier.number, rooms),
            waiting=tuple(one for one in waiting if one.athlete.tier_id == tier.number),
        )
        for tier in Tier.objects.all()
    )


def classes_for(tier: int, rooms: Iterable[ClassPlaces]) -> tuple[ClassPlaces, ...]:
    """Those of ``rooms`` that are for this tier."""
    return tuple(one for one in rooms if one.is_for(tier))


def class_places(*, today: date) -> tuple[ClassPlaces, ...]:
    """Room in every class, by weekday and time: three queries."""
    return _rooms(list(_running(today)), today)


def _rooms(running: Sequence[Enrolment], today: date) -> tuple[ClassPlaces, ...]:
    places: dict[int, list[Enrolment]] = defaultdict(list)
    for place in running:
        places[place.gym_class_id].append(place)
    classes = sorted(GymClass.objects.prefetch_related("tiers"), key=_when)
    return tuple(_room(one, places[one.pk], today) for one in classes)


def _room(one: GymClass, places: Sequence[Enrolment], today: date) -> ClassPlaces:
    return ClassPlaces(
        gym_class=one,
        tiers=frozenset(tier.number for tier in one.tiers.all()),
        enrolled=_on(places, today),
        coming=len({place.athlete_id for place in places if place.since > today}),
        leaving=len({place.athlete_id for place in places if _leaves(place, today)}),
        free=None if one.places is None else one.places - fullest(places, today),
    )


def _when(one: GymClass) -> tuple[int, str, str, int]:
    weekday = LAST_OF_WEEK if one.weekday is None else one.weekday
    return weekday, str(one.starts_at or ""), one.name, one.pk


def _running(day: date) -> QuerySet[Enrolment]:
    """Places that run on ``day`` or later, without those of athletes who have left by then."""
    return Enrolment.objects.filter(
        Q(until__isnull=True) | Q(until__gte=day),
        Q(athlete__left__isnull=True) | Q(athlete__left__gt=day),
    ).annotate(athlete_left=F("athlete__left"))


def _leaves(place: Enrolment, today: date) -> bool:
    return place.since <= today and (place.until is not None or _left(place) is not None)


def _left(place: Enrolment) -> date | None:
    """The day from which the athlete is not in the programme any more."""
    left: date | None = getattr(place, "athlete_left", None)
    return left


def _on(places: Sequence[Enrolment], day: date) -> int:
    """How many athletes have a place on ``day``."""
    here = set()
    for place in places:
        left = _left(place)
        gone = (place.until is not None and place.until < day) or (left is not None and left <= day)
        if place.since <= day and not gone:
            here.add(place.athlete_id)
    return len(here)


def fullest(places: Sequence[Enrolment], from_day: date) -> int:
    """Most athletes on any one day from ``from_day`` on; it grows only where a place starts."""
    starts = {place.since for place in places if place.since > from_day}
    return max(_on(places, day) for day in {from_day, *starts})


def places_in(gym_class: GymClass, from_day: date) -> list[Enrolment]:
    """Places in a class that run on ``from_day`` or later: one query."""
    return list(_running(from_day).filter(gym_class=gym_class))


def _waiting(
    rooms: Sequence[ClassPlaces], running: Sequence[Enrolment], today: date
) -> list[Waiting]:
    """Who was moved and is in no class for the tier they are in, the oldest decision first.

    Where the gym has no class for a tier there is nothing to wait for.
    """
    by_class = {one.gym_class.pk: one for one in rooms}
    mine: dict[int, list[Enrolment]] = defaultdict(list)
    for place in running:
        place.gym_class = by_class[place.gym_class_id].gym_class
        mine[place.athlete_id].append(place)
    found = []
    for row in _moved_and_there(today):
        tier, places = row.to_tier_id, mine[row.athlete_id]
        placed = any(by_class[place.gym_class_id].is_for(tier) for place in places)
        if classes_for(tier, rooms) and not placed:
            days = (today - timezone.localdate(row.decided_at)).days
            found.append(Waiting(row, row.athlete, days, tuple(places)))
    return found


def _moved_and_there(today: date) -> QuerySet[SignOff]:
    """The latest standing decisions of athletes still in the tier it put them in: one query."""
    later = SignOff.objects.standing().filter(
        Q(decided_at__gt=OuterRef("decided_at"))
        | Q(decided_at=OuterRef("decided_at"), pk__gt=OuterRef("pk")),
        athlete=OuterRef("athlete"),
    )
    return (
        SignOff.objects.standing()
        .filter(
            ~Exists(later),
            Q(athlete__left__isnull=True) | Q(athlete__left__gt=today),
            to_tier=F("athlete__tier"),
            stays=False,
        )
        .select_related("athlete", "from_tier", "to_tier")
        .order_by("decided_at", "pk")
    )
