"""Storing new attempts, many at a time."""

from datetime import datetime

from progress.models import Athlete, Attempt, Skill, StaffMember
from progress.usecases.folders.check_attempts import Numbered
from progress.usecases.folders.dates import venue_zone
from progress.usecases.folders.stored_attempts import in_chunks
from progress.usecases.folders.tally import Made
from progress.usecases.folders.variants import stored_places
from progress.usecases.standings.changed import athletes_changed

# Records made at a time: enough to be quick, few enough to stay small.
AT_ONCE = 5_000


def store_attempts(attempts: list[Numbered], now: datetime, made: Made) -> None:
    """Store attempts that are not stored yet. Runs inside the caller's transaction."""
    if not attempts:
        return
    athletes = dict(Athlete.objects.order_by().values_list("code", "pk"))
    skills = dict(Skill.objects.order_by().values_list("code", "pk"))
    variants = dict(stored_places()) if any(attempt.place for attempt in attempts) else {}
    coaches = make_coaches([attempt.row.coach for attempt in attempts], made)
    for some in in_chunks(attempts, AT_ONCE):
        Attempt.objects.bulk_create(
            [
                Attempt(
                    uid=uid,
                    athlete_id=athletes[row.athlete],
                    skill_id=skills[row.skill],
                    variant_id=variants[place] if place else None,
                    at=row.at,
                    result=row.result,
                    coach_id=coaches[row.coach] if row.coach else None,
                    note=row.note or "",
                    stored_at=now,
                )
                for uid, row, place in some
            ]
        )
    tried = {athletes[attempt.row.athlete] for attempt in attempts}
    athletes_changed(athletes=tried, today=now.astimezone(venue_zone()).date())


def make_coaches(codes: list[str | None], made: Made) -> dict[str, int]:
    """Make the staff who are missing, as coaches without an account."""
    stored = set(StaffMember.objects.values_list("code", flat=True))
    missing = sorted({code for code in codes if code} - stored)
    StaffMember.objects.bulk_create(StaffMember(code=code, name=code) for code in missing)
    made.note("coach", missing)
    return dict(StaffMember.objects.order_by().values_list("code", "pk"))
