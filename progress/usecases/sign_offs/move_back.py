"""Later than a day after a move up, the lead takes a new decision: back to an earlier tier."""

from datetime import datetime

from django.db import transaction
from django.utils import timezone

from progress.models import Athlete, SignOff, StaffMember, Tier
from progress.usecases.sign_offs.cases import look_at
from progress.usecases.sign_offs.latest import latest_standing
from progress.usecases.sign_offs.refused import (
    MovedMeanwhile,
    SignOffRefused,
    check_lead,
    one_line,
    sentence_problem,
)
from progress.usecases.sign_offs.snapshot import snapshots, unsaved
from progress.usecases.standings.changed import athletes_changed


def tiers_below(athlete: Athlete) -> list[Tier]:
    """The tiers an athlete can go back to, the nearest first."""
    return list(Tier.objects.filter(number__lt=athlete.tier_id).order_by("-number"))


@transaction.atomic
def move_back(
    *,
    athlete: Athlete,
    from_tier: int,
    sentence: str,
    lead: StaffMember,
    now: datetime,
    to_tier: Tier | None = None,
) -> SignOff:
    """Put an athlete in an earlier tier, the nearest unless ``to_tier`` says another.

    No gates are asked for. ``from_tier`` is the tier the lead saw: raises MovedMeanwhile where it
    is another by now, so a double tap goes back once, and SignOffRefused otherwise.
    """
    check_lead(lead)
    words = one_line(sentence)
    problem = sentence_problem(words)
    if problem:
        raise SignOffRefused({"sentence": problem})
    today = timezone.localdate(now)
    locked = Athlete.objects.select_for_update(of=("self",)).select_related("tier")
    mine = locked.get(pk=athlete.pk)
    if mine.tier_id != from_tier:
        raise MovedMeanwhile({mine: latest_standing([mine]).get(mine.pk)})
    if mine.left is not None and mine.left <= today:
        raise SignOffRefused({"": f"{mine} has left the programme."})
    target = to_tier or next(iter(tiers_below(mine)), None)
    if target is None or target.number >= mine.tier_id:
        raise SignOffRefused({"to_tier": f"{mine} is in {mine.tier}. Choose an earlier tier."})
    cases = look_at(athletes=[mine], today=today)
    (case,), (said,) = cases.all, snapshots(cases, today)
    row = unsaved(case, said, cases, lead, to_tier=target, decided_at=now, sentence=words)
    row.save()
    Athlete.objects.filter(pk=mine.pk, tier=from_tier).update(tier=target)
    athletes_changed(athletes=[mine.pk], today=today)
    return row
