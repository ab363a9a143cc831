"""The lead gives somebody who moved a place in a class of the new tier, from a day on."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils import timezone

from progress.models import Athlete, Enrolment, GymClass, StaffMember
from progress.usecases.sign_offs.places_given import note_place
from progress.usecases.sign_offs.refused import SignOffRefused, check_lead, day_words
from progress.usecases.sign_offs.see_places import fullest, places_in

ONE_DAY = timedelta(days=1)
LATEST = timedelta(days=366)


def next_meeting(gym_class: GymClass, today: date) -> date:
    """The class's next day after today; tomorrow where its weekday is not set."""
    tomorrow = today + ONE_DAY
    if gym_class.weekday is None:
        return tomorrow
    return tomorrow + timedelta(days=(gym_class.weekday - tomorrow.weekday()) % 7)


@transaction.atomic
def give_place(
    *,
    athlete: Athlete,
    gym_class: GymClass,
    from_day: date,
    lead: StaffMember,
    now: datetime,
    leave: Sequence[Enrolment] = (),
) -> Enrolment:
    """Enrol the athlete from ``from_day`` on and end the places in ``leave`` the day before.

    Refused (SignOffRefused) where the class is full on any day from then on, is not for the
    athlete's tier or has them already. There is no way round a full class but to raise its number
    of places in the admin first.
    """
    check_lead(lead)
    today = timezone.localdate(now)
    # Athlete first, then class, everywhere: two leads wait for each other and never in a ring.
    mine = Athlete.objects.select_for_update().get(pk=athlete.pk)
    room = GymClass.objects.select_for_update().get(pk=gym_class.pk)
    _check_day(mine, from_day, today)
    _check_class(mine, room, from_day)
    ended = [_checked_leave(mine, room, one, from_day) for one in leave]
    given = Enrolment.objects.create(athlete=mine, gym_class=room, since=from_day)
    for one in ended:
        Enrolment.objects.filter(pk=one.pk).update(until=from_day - ONE_DAY)
    note_place(mine, given, [(one.pk, one.until) for one in ended])
    return given


def _check_day(athlete: Athlete, from_day: date, today: date) -> None:
    if athlete.left is not None and athlete.left <= from_day:
        raise SignOffRefused({"": f"{athlete} has left the programme by then."})
    if from_day < today:
        raise SignOffRefused({"from_day": "A place begins today or later. Choose another day."})
    if from_day > today + LATEST:
        raise SignOffRefused({"from_day": "That is more than a year ahead. Choose an earlier day."})


def _check_class(athlete: Athlete, room: GymClass, from_day: date) -> None:
    tiers = {tier.number for tier in room.tiers.all()}
    if tiers and athlete.tier_id not in tiers:
        raise SignOffRefused(
            {
                "gym_class": f"{room} is not for the tier {athlete} is in. Choose another class, or"
                " change the tiers it is for in the admin."
            }
        )
    places = places_in(room, from_day)
    if any(place.athlete_id == athlete.pk for place in places):
        raise SignOffRefused({"gym_class": f"{athlete} has a place in {room} already."})
    if room.places is not None and fullest(places, from_day) >= room.places:
        raise SignOffRefused(
            {
                "gym_class": f"{room} is full: {room.places} places. Choose another class or a"
                " later day, or raise its number of places in the admin first."
            }
        )


def _checked_leave(athlete: Athlete, room: GymClass, place: Enrolment, from_day: date) -> Enrolment:
    """The place to end as it is now."""
    row = Enrolment.objects.select_related("gym_class").filter(pk=place.pk, athlete=athlete).first()
    if row is None or (row.until is not None and row.until < from_day):
        raise SignOffRefused({"leave": f"{athlete} has no such place any more. Look again."})
    if row.since >= from_day:
        raise SignOffRefused(
            {
                "leave": f"{athlete}’s place in {row.gym_class} begins only on"
                f" {day_words(row.since)}. Choose a later day, or take that place off in the admin."
            }
        )
    return row
