"""Storing the rows of athletes.csv and the classes the athletes are in."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.db.models import Q

from progress.models import Athlete, Enrolment, GymClass
from progress.usecases.folders.rows import AthleteRow
from progress.usecases.folders.store_skills import apply, make_tiers
from progress.usecases.folders.tally import Made, Tally
from progress.usecases.standings.changed import athletes_changed

FIELDS = ("name", "tier_id", "birth_date", "joined")


def store_athletes(
    rows: list[AthleteRow], first_days: Mapping[str, date], today: date, made: Made
) -> Tally:
    """Add new athletes, bring stored ones up to date, and enrol them in their classes.

    ``first_days`` is the day of the first attempt of each athlete who has made any. Runs inside
    the caller's transaction.
    """
    if not rows:
        return Tally()
    make_tiers((row.tier for row in rows), made)
    athletes = {athlete.code: athlete for athlete in Athlete.objects.all()}
    new = [row for row in rows if row.athlete not in athletes]
    known = [row for row in rows if row.athlete in athletes]
    changed = {row.athlete for row in known if apply(athletes[row.athlete], details(row))}
    Athlete.objects.bulk_update(
        [athletes[code] for code in sorted(changed)], FIELDS, batch_size=500
    )
    athletes_changed(athletes=[athletes[code].pk for code in changed], today=today)
    Athlete.objects.bulk_create(Athlete(code=row.athlete, **details(row)) for row in new)
    changed |= enrol(rows, first_days, today, made)
    updated = sum(row.athlete in changed for row in known)
    return Tally(new=len(new), same=len(known) - updated, updated=updated)


def details(row: AthleteRow) -> dict[str, Any]:
    """What the row says of the athlete; empty cells say nothing."""
    said = {
        "tier_id": row.tier,
        "name": row.name,
        "birth_date": row.birth_date,
        "joined": row.joined,
    }
    return {name: value for name, value in said.items() if value is not None}


def enrol(
    rows: list[AthleteRow], first_days: Mapping[str, date], today: date, made: Made
) -> set[str]:
    """See that each athlete is in the classes named and in no other; return who moved.

    A first enrolment counts from the day of joining, or of the first attempt, or from today. A
    child who was in some class before moves today: the old place ends, the past stays as it was.
    """
    placed = [row for row in rows if row.classes]
    classes = make_classes([code for row in placed for code in row.classes or ()], made)
    athletes = {athlete.code: athlete for athlete in Athlete.objects.all()}
    past: dict[int, list[Enrolment]] = {}
    for enrolment in Enrolment.objects.all():
        past.setdefault(enrolment.athlete_id, []).append(enrolment)
    moved = set()
    new = []
    for row in placed:
        athlete = athletes[row.athlete]
        own = past.get(athlete.pk, [])
        asked = {classes[code] for code in row.classes or ()}
        leaving = [each for each in own if each.until is None and each.gym_class_id not in asked]
        joining = asked - {each.gym_class_id for each in own if lasts(each, today)}
        since = today if own else athlete.joined or first_days.get(row.athlete) or today
        new += [Enrolment(athlete=athlete, gym_class_id=pk, since=since) for pk in sorted(joining)]
        end(leaving, today)
        if leaving or joining:
            moved.add(row.athlete)
    Enrolment.objects.bulk_create(new)
    return moved


def lasts(enrolment: Enrolment, today: date) -> bool:
    """Whether a place is held today or will be."""
    return enrolment.until is None or enrolment.until >= today


def end(enrolments: list[Enrolment], today: date) -> None:
    """End places yesterday; one that would end before it began is taken away."""
    yesterday = today - timedelta(days=1)
    keys = [enrolment.pk for enrolment in enrolments]
    if keys:
        Enrolment.objects.filter(Q(since__gt=yesterday), pk__in=keys).delete()
        Enrolment.objects.filter(pk__in=keys).update(until=yesterday)


def make_classes(codes: list[str], made: Made) -> dict[str, int]:
    """Make the classes that are missing."""
    stored = set(GymClass.objects.values_list("code", flat=True))
    missing = sorted(set(codes) - stored)
    GymClass.objects.bulk_create(GymClass(code=code, name=code) for code in missing)
    made.note("class", missing)
    return dict(GymClass.objects.order_by().values_list("code", "pk"))
