"""A coach moves a child to another loop or variant; the plan is made anew around it.

What a need, a gate, a height rule, an age or a hold speaks against is refused here: the tool does
not write such a plan down. The coach in the hall decides all the same, and answers for it.
"""

from datetime import date, datetime

from django.db import transaction
from django.utils import timezone

from progress.engine.stops import barred
from progress.models import (
    Athlete,
    GymClass,
    Loop,
    PlanChoice,
    StaffMember,
    Station,
    Variant,
)
from progress.models.plans import PlanChoiceQuerySet
from progress.usecases.know_athletes import know_athletes
from progress.usecases.see_class import loops_for
from progress.usecases.sheets.roles import may_record

LONGEST = 200


class ChoiceRefused(ValueError):
    """The choice cannot be stored; the message says why."""


@transaction.atomic
def choose_loop(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    loop: str,
    coach: StaffMember,
    now: datetime,
    reason: str = "",
) -> PlanChoice:
    """Let the athlete start on the loop with this code that day. Raises ChoiceRefused."""
    _check(gym_class, day, athlete, coach, now)
    found = next((one for one in _loops(gym_class, day) if one.code == loop), None)
    if found is None:
        raise ChoiceRefused("This loop does not stand on the floor of this class that day.")
    return _store(gym_class, day, athlete, coach, reason, now, loop=found)


@transaction.atomic
def choose_variant(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    station: str,
    variant: str,
    coach: StaffMember,
    now: datetime,
    reason: str = "",
) -> PlanChoice:
    """Send the athlete to this variant of this station that day; an empty variant leaves it out.

    Raises ChoiceRefused where something speaks against it.
    """
    _check(gym_class, day, athlete, coach, now)
    found = _station(gym_class, day, station)
    chosen = _variant(found, variant) if variant else None
    if chosen is not None:
        _refuse_what_is_barred(gym_class, day, athlete, chosen)
    return _store(gym_class, day, athlete, coach, reason, now, station=found, variant=chosen)


@transaction.atomic
def take_back(
    *,
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    coach: StaffMember,
    now: datetime,
    station: str = "",
) -> int:
    """Leave it to the engine again: at this station, or the loop if none is named.

    Returns how many choices were taken back; the rows are kept. Raises ChoiceRefused.
    """
    _check(gym_class, day, athlete, coach, now)
    return standing_at(gym_class, day, athlete, station).update(taken_back_at=now)


def standing_at(
    gym_class: GymClass, day: date, athlete: Athlete, station: str
) -> PlanChoiceQuerySet:
    """What is fixed for the athlete at the station with this code; empty: the loop."""
    mine = PlanChoice.objects.of(gym_class, day).filter(athlete=athlete)
    return mine.filter(station__code=station) if station else mine.filter(station__isnull=True)


def _check(
    gym_class: GymClass, day: date, athlete: Athlete, coach: StaffMember, now: datetime
) -> None:
    if not may_record(coach):
        raise ChoiceRefused("Only a coach or the lead may change the plan.")
    if day < timezone.localdate(now):
        raise ChoiceRefused("The plan of a day that is over stays as it was.")
    if not gym_class.athletes_on(day).filter(pk=athlete.pk).exists():
        raise ChoiceRefused(f"{athlete} is not in this class that day.")


def _loops(gym_class: GymClass, day: date) -> list[Loop]:
    return loops_for(gym_class, list(Loop.objects.on_floor(day)))


def _station(gym_class: GymClass, day: date, code: str) -> Station:
    stops = (stop for loop in _loops(gym_class, day) for stop in loop.stops.all())
    found = next((stop.station for stop in stops if stop.station.code == code), None)
    if found is None:
        raise ChoiceRefused("This station does not stand on the floor of this class that day.")
    return found


def _variant(station: Station, code: str) -> Variant:
    found = next((one for one in station.variants.all() if one.code == code), None)
    if found is None:
        raise ChoiceRefused(f"{station} has no such variant.")
    return found


def _refuse_what_is_barred(
    gym_class: GymClass, day: date, athlete: Athlete, variant: Variant
) -> None:
    known = know_athletes(athletes=[athlete], today=day, gym_class=gym_class)
    against = barred(known.picture, 0, variant.as_term())
    if against:
        raise ChoiceRefused(f"{athlete}, {variant}: {against}.")


def _store(
    gym_class: GymClass,
    day: date,
    athlete: Athlete,
    coach: StaffMember,
    reason: str,
    now: datetime,
    *,
    loop: Loop | None = None,
    station: Station | None = None,
    variant: Variant | None = None,
) -> PlanChoice:
    words = " ".join(reason.split())
    if len(words) > LONGEST:
        raise ChoiceRefused(f"Keep the reason under {LONGEST} characters; this has {len(words)}.")
    # Two coaches may move the same child at once: the second waits here and comes after.
    Athlete.objects.select_for_update().get(pk=athlete.pk)
    # By code, as the engine reads them: a floor that took another's place has stations of its own.
    earlier = standing_at(gym_class, day, athlete, station.code if station else "")
    same = earlier.filter(loop=loop, variant=variant, reason=words).first()
    if same is not None:
        return same
    earlier.update(taken_back_at=now)
    return PlanChoice.objects.create(
        gym_class=gym_class,
        day=day,
        athlete=athlete,
        loop=loop,
        station=station,
        variant=variant,
        reason=words,
        chosen_at=now,
        chosen_by=coach,
    )
