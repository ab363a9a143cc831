"""After saving: what today's checks changed, and whom nobody has seen for a while."""

from dataclasses import dataclass
from datetime import date

from progress.engine.log import Log
from progress.engine.terms import Decision
from progress.models import Athlete, Attempt, GymClass, Meeting, Skill
from progress.usecases.engine_inputs import end_of
from progress.usecases.know_athletes import Known, know_athletes
from progress.usecases.sheets.mornings import this_morning

MEETINGS_UNSEEN = 3


@dataclass(frozen=True)
class NewlySecure:
    """A skill that today's checks made secure."""

    athlete: Athlete
    skill: Skill


@dataclass(frozen=True)
class MeetingSummary:
    """What changed today in one class.

    ``ready``: athletes who look ready now and did not before; ``unsure``: skills that were secure
    before and are not any more. ``unseen``: athletes without an attempt in the last three meetings
    of the class, this one included. ``held``: athletes with a try today that a hold covers, perhaps
    made before the hold was written down.
    """

    attempts: int
    athletes: int
    secure: tuple[NewlySecure, ...]
    unsure: tuple[NewlySecure, ...]
    ready: tuple[Athlete, ...]
    unseen: tuple[Athlete, ...]
    held: tuple[Athlete, ...]


def sum_up_meeting(*, gym_class: GymClass, today: date) -> MeetingSummary:
    """Compare the class with and without today's attempts."""
    enrolled = gym_class.athletes_on(today).with_last_here(today)
    after = know_athletes(athletes=list(enrolled), today=today)
    before = this_morning(after, today)
    now_ready = {r.athlete for r in after.readiness if r.decision is Decision.READY}
    was_ready = {r.athlete for r in before.readiness if r.decision is Decision.READY}
    tried = after.log.rows(after.log.when >= today.toordinal())
    return MeetingSummary(
        attempts=len(tried),
        athletes=len(set(tried.athlete.tolist())),
        secure=_changed(after, before),
        unsure=_changed(before, after),
        ready=tuple(a for a in after.athletes if a.code in now_ready - was_ready),
        unseen=_unseen(gym_class, after.athletes, today),
        held=_held(after, tried),
    )


def _held(known: Known, tried: Log) -> tuple[Athlete, ...]:
    """Athletes with one of these tries at a skill that a hold covers now."""
    skills = [known.skills[skill.code] for skill in known.picture.catalogue.skills]
    found = []
    for row, athlete in enumerate(known.athletes):
        stops = [{each.pk for each in h.ladders.all()} for h in known.holds.in_force(athlete)]
        ladders = {skills[at].ladder_id for at in tried.skill[tried.athlete == row].tolist()}
        if any(ladders if not stop else stop & ladders for stop in stops):
            found.append(athlete)
    return tuple(found)


def _changed(now: Known, then: Known) -> tuple[NewlySecure, ...]:
    """Skills secure in ``now`` and not in ``then``."""
    new = now.picture.secure & ~then.picture.secure
    codes = [skill.code for skill in now.picture.catalogue.skills]
    return tuple(
        NewlySecure(now.athletes[row], now.skills[codes[column]])
        for row, column in zip(*new.nonzero(), strict=True)
    )


def _unseen(gym_class: GymClass, athletes: tuple[Athlete, ...], today: date) -> tuple[Athlete, ...]:
    """Athletes without an attempt since the third last meeting; nobody while there are fewer."""
    days = list(
        Meeting.objects.filter(gym_class=gym_class, day__lte=today)
        .order_by("-day")
        .values_list("day", flat=True)[:MEETINGS_UNSEEN]
    )
    if len(days) < MEETINGS_UNSEEN:
        return ()
    seen = set(
        Attempt.objects.standing()
        .of(athletes)
        .filter(at__gte=end_of(date.fromordinal(days[-1].toordinal() - 1)), at__lt=end_of(today))
        .values_list("athlete_id", flat=True)
    )
    return tuple(athlete for athlete in athletes if athlete.pk not in seen)
