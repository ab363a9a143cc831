"""Within a day the lead takes a decision back, as if it had not been taken; the row is kept."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from progress.models import Athlete, SignOff, StaffMember
from progress.usecases.sign_offs.latest import latest_standing
from progress.usecases.sign_offs.places_given import PlaceBack, give_back
from progress.usecases.sign_offs.refused import SignOffRefused, check_lead, day_words
from progress.usecases.standings.changed import athletes_changed

ONE_DAY = timedelta(hours=24)


@dataclass(frozen=True)
class Undone:
    """A decision taken back, and what became of the places given after it."""

    sign_off: SignOff
    places: tuple[PlaceBack, ...]


def undo_until(sign_off: SignOff) -> datetime:
    """The last moment at which a decision can be taken back."""
    return sign_off.decided_at + ONE_DAY


def why_not(sign_off: SignOff, latest: SignOff | None, now: datetime) -> str:
    """Why this decision cannot be taken back; empty where it can.

    ``latest`` is the athlete's latest standing decision; its athlete must be loaded afresh.
    """
    athlete = sign_off.athlete
    if sign_off.undone_at is not None:
        moment = timezone.localtime(sign_off.undone_at)
        return f"{athlete}: this was undone already, on {day_words(moment)} at {moment:%H:%M}."
    if now > undo_until(sign_off):
        return (
            f"{athlete}: more than a day has passed, so this stands."
            " Take a new decision instead: move back."
        )
    if latest is None or latest.pk != sign_off.pk:
        return f"{athlete}: there is a later decision. Undo that one first."
    if athlete.tier_id != sign_off.to_tier_id:
        return (
            f"{athlete} is in another tier by now, changed by hand. Set the tier right in the admin"
        ) + "."
    return ""


@transaction.atomic
def undo(*, sign_off: SignOff, lead: StaffMember, now: datetime) -> Undone:
    """Put the athlete back in the tier before and note who took the decision back, and when.

    A place given with it goes back too where it has not begun; the class left for it is taken up
    again. Raises SignOffRefused where it is too late, undone already or no longer the latest.
    """
    check_lead(lead)
    athlete = Athlete.objects.select_for_update().get(pk=sign_off.athlete_id)
    row = SignOff.objects.select_related("from_tier", "to_tier").get(pk=sign_off.pk)
    row.athlete = athlete
    problem = why_not(row, latest_standing([athlete]).get(athlete.pk), now)
    if problem:
        raise SignOffRefused({"": problem})
    stood = SignOff.objects.standing().filter(pk=row.pk).update(undone_at=now, undone_by=lead)
    there = Athlete.objects.filter(pk=athlete.pk, tier=row.to_tier_id)
    if not stood or not there.update(tier=row.from_tier_id):
        raise SignOffRefused({"": f"{athlete}: somebody undid this at the same moment."})
    row.undone_at, row.undone_by = now, lead
    today = timezone.localdate(now)
    places = give_back(row, today)
    athletes_changed(athletes=[athlete.pk], today=today)
    return Undone(row, places)
