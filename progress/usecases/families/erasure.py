"""The lead looks at what an erasure takes away, and completes it."""

import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from progress.models import (
    Athlete,
    Attempt,
    ErasureRequest,
    Guardian,
    HoldReason,
    StaffMember,
    Standing,
)
from progress.usecases.families.display_name import first_name
from progress.usecases.families.erasure_requests import check_lead, locked
from progress.usecases.families.erasure_traces import (
    ERASED,
    forget_admin_log,
    forget_guardians,
    without_names,
)
from progress.usecases.families.erasures_kept import Erased, digest_of_code, keep_erasure

LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"


@dataclass(frozen=True)
class ErasurePreview:
    """How many records of each kind an erasure takes away, empties, or keeps without a name."""

    athlete: Athlete
    guardians_deleted: int
    guardians_kept: int
    notes: int
    holds: int
    consents: int
    links: int
    plan_choices: int
    classes_ended: int
    attempt_words: int
    attempts_kept: int
    register_kept: int
    sign_offs_kept: int


def preview_erasure(*, athlete: Athlete, today: date) -> ErasurePreview:
    """Count; nothing is changed."""
    leaving = guardians_of_nobody_else(athlete)
    attempts = Attempt.objects.filter(athlete=athlete)
    return ErasurePreview(
        athlete=athlete,
        guardians_deleted=leaving.count(),
        guardians_kept=athlete.guardianships.exclude(guardian__in=leaving).count(),
        notes=athlete.notes.count(),
        holds=athlete.holds.count(),
        consents=athlete.consents.count(),
        links=sum(guardian.links.count() for guardian in leaving),
        plan_choices=athlete.plan_choices.count(),
        classes_ended=athlete.enrolments.filter(Q(until=None) | Q(until__gte=today)).count(),
        attempt_words=attempts.exclude(note="", reason="").count(),
        attempts_kept=attempts.count(),
        register_kept=athlete.register_entries.count(),
        sign_offs_kept=athlete.sign_offs.count(),
    )


@transaction.atomic
def complete_erasure(*, request: ErasureRequest, lead: StaffMember, now: datetime) -> Athlete:
    """Erase the child the request is about and note it outside the database too.

    All of it or nothing: where the list of erasures cannot be written, OSError is raised and every
    record stays. Raises ErasureRefused where the request is open no more.
    """
    check_lead(lead)
    waiting = locked(request)
    athlete = Athlete.objects.select_for_update().get(pk=waiting.athlete_id)
    code, day = athlete.code, timezone.localdate(now)
    ErasureRequest.objects.filter(pk=waiting.pk).update(
        answered_at=now, answered_by=lead, erased=True, answer=""
    )
    erased = erase(athlete=athlete, pseudonym=new_pseudonym(), now=now)
    # Last of all, so that nothing is listed that was not erased.
    keep_erasure(Erased(digest_of_code(code), day, erased.code))
    return erased


def new_pseudonym() -> str:
    """A code that says nothing about anybody."""
    return "erased-" + "".join(secrets.choice(LETTERS) for _ in range(12))


@transaction.atomic
def erase(*, athlete: Athlete, pseudonym: str, now: datetime) -> Athlete:
    """Take the child out of the records; what was tried stays under the pseudonym.

    The attempts' facts stay as they were, so difficulties learnt from them stay too.
    """
    today = timezone.localdate(now)
    names = {athlete.code, athlete.name, athlete.shown_as, first_name(athlete)} - {""}
    forget_admin_log(athlete)
    guardians = list(guardians_of_nobody_else(athlete))
    _empty_the_log(athlete)
    _empty_decisions(athlete, names, pseudonym)
    for rows in (athlete.notes, athlete.plan_choices, athlete.consents, athlete.guardianships):
        rows.all().delete()
    Standing.objects.filter(athlete=athlete).delete()  # the engine's opinion of a child who left
    athlete.erasure_requests.update(asked_by=None, answer="")
    athlete.erasure_requests.filter(answered_at=None).update(answered_at=now, erased=True)
    forget_guardians(guardians)
    _end_classes(athlete, today)
    return _rename(athlete, pseudonym, now)


def guardians_of_nobody_else(athlete: Athlete) -> QuerySet[Guardian]:
    """Guardians of this child who have no other child here."""
    children = Athlete.objects.exclude(pk=athlete.pk)
    others = Guardian.objects.filter(guardianships__athlete__in=children)
    return Guardian.objects.filter(guardianships__athlete=athlete).exclude(pk__in=others)


def _empty_the_log(athlete: Athlete) -> None:
    """Blank what people wrote beside attempts; a correction must go on saying that there was a why.

    The model refuses every change of a stored attempt; this is the one place that goes round it,
    and the database still refuses to touch the facts.
    """
    rows: QuerySet[Attempt] = QuerySet(Attempt).filter(athlete=athlete)
    rows.exclude(note="").update(note="")
    rows.exclude(reason="").update(reason=ERASED)


def _empty_decisions(athlete: Athlete, names: set[str], pseudonym: str) -> None:
    athlete.holds.update(reason="", kind=HoldReason.OTHER)
    for sign_off in athlete.sign_offs.all():
        sign_off.sentence = ERASED
        sign_off.although = ERASED if sign_off.although else ""
        sign_off.engine_said = without_names(sign_off.engine_said, names, pseudonym)
        sign_off.save(update_fields=["sentence", "although", "engine_said"])


def _end_classes(athlete: Athlete, today: date) -> None:
    yesterday = today - timedelta(days=1)
    athlete.enrolments.filter(since__gt=yesterday).delete()
    athlete.enrolments.filter(Q(until=None) | Q(until__gt=yesterday)).update(until=yesterday)


def _rename(athlete: Athlete, pseudonym: str, now: datetime) -> Athlete:
    """Days are kept to the month; whoever had not left has left now."""
    this_month = timezone.localdate(now).replace(day=1)
    athlete.code, athlete.name, athlete.shown_as = pseudonym, "", ""
    athlete.birth_date = None
    athlete.joined = min(athlete.joined, this_month).replace(day=1) if athlete.joined else None
    left = min(athlete.left or this_month, this_month).replace(day=1)
    athlete.left = max(left, athlete.joined or left)
    athlete.erased_at = now
    athlete.save()
    return athlete
