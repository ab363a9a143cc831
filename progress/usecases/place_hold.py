"""A coach stops an athlete for a while; the lead, and only the lead, lifts it."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.db import transaction

from progress.models import Athlete, Hold, HoldReason, Ladder, Role, StaffMember
from progress.usecases.sheets.roles import may_record
from progress.usecases.standings.changed import athletes_changed

LONGEST = 120
REVIEW_AFTER = timedelta(days=14)


class HoldRefused(ValueError):
    """The hold cannot be placed or lifted; the message says why."""


@transaction.atomic
def place_hold(
    *,
    athlete: Athlete,
    kind: str,
    coach: StaffMember,
    today: date,
    reason: str = "",
    ladders: Sequence[Ladder] = (),
) -> Hold:
    """Hold the athlete back from today: everything, or only the ladders named.

    ``reason`` is a short neutral remark, never a diagnosis. The review day is a reminder to ask
    again and lifts nothing. A hold of the same reach in force already is returned as it is, so a
    double tap places one.
    """
    if not may_record(coach):
        raise HoldRefused("Only a coach or the lead may place a hold.")
    if kind not in HoldReason.values:
        raise HoldRefused("Choose one of the reasons.")
    words = " ".join(reason.split())
    if len(words) > LONGEST:
        raise HoldRefused(f"Keep the remark to {LONGEST} characters; this has {len(words)}.")
    # Taps that arrive together wait for each other here, so that the second sees the first's hold.
    Athlete.objects.select_for_update().get(pk=athlete.pk)
    wanted = {ladder.pk for ladder in ladders}
    for hold in Hold.objects.on(today).filter(athlete=athlete).prefetch_related("ladders"):
        if {ladder.pk for ladder in hold.ladders.all()} == wanted:
            return hold
    hold = Hold.objects.create(
        athlete=athlete,
        starts=today,
        review=today + REVIEW_AFTER,
        kind=kind,
        reason=words,
        placed_by=coach,
    )
    hold.ladders.set(ladders)
    athletes_changed(athletes=[athlete.pk], today=today)
    return hold


@transaction.atomic
def lift_hold(*, hold: Hold, lead: StaffMember, today: date) -> None:
    """End a hold from ``today``. The athlete then eases back: a step easier for a while."""
    if not lead.active or lead.role != Role.LEAD:
        raise HoldRefused("Only the lead lifts a hold.")
    if today < hold.starts:
        raise HoldRefused("The hold has not started yet.")
    Hold.objects.filter(pk=hold.pk, lifted__isnull=True).update(lifted=today, lifted_by=lead)
    athletes_changed(athletes=[hold.athlete_id], today=today)
