"""A guardian asks to have everything about a child erased, or takes that back; a lead declines."""

from datetime import datetime

from django.db import transaction

from progress.models import Athlete, ErasureRequest, Guardian, Role, StaffMember

LONGEST = 300


class ErasureRefused(ValueError):
    """It cannot be done; the message says why."""


def open_request(*, athlete: Athlete) -> ErasureRequest | None:
    """The request about this child that waits for an answer."""
    return ErasureRequest.objects.filter(athlete=athlete, answered_at__isnull=True).first()


def last_answer(*, athlete: Athlete, guardian: Guardian) -> ErasureRequest | None:
    """The newest answer to this guardian's own requests about the child."""
    answered = ErasureRequest.objects.filter(
        athlete=athlete, asked_by=guardian, answered_at__isnull=False
    )
    return answered.order_by("-answered_at").first()


@transaction.atomic
def ask_for_erasure(*, athlete: Athlete, guardian: Guardian, now: datetime) -> ErasureRequest:
    """Ask; asking again while a request is open changes nothing."""
    if not guardian.guardianships.filter(athlete=athlete, may_see=True).exists():
        raise ErasureRefused("Only a guardian with rights for this child may ask.")
    return _ask(athlete, guardian, now)


@transaction.atomic
def ask_at_the_gym(*, code: str, lead: StaffMember, now: datetime) -> ErasureRequest:
    """A lead opens a request that came by letter, telephone or at the desk."""
    check_lead(lead)
    athlete = Athlete.objects.filter(code=code.strip(), erased_at__isnull=True).first()
    if athlete is None:
        raise ErasureRefused("No child has this code.")
    return _ask(athlete, None, now)


def take_back_request(*, athlete: Athlete, guardian: Guardian) -> bool:
    """Take an open request of one's own back, as if it had not been asked; True if there was one.

    An answered request stays: it says what the lead decided.
    """
    mine = ErasureRequest.objects.filter(athlete=athlete, asked_by=guardian)
    return bool(mine.filter(answered_at__isnull=True).delete()[0])


@transaction.atomic
def decline_erasure(
    *, request: ErasureRequest, lead: StaffMember, sentence: str, now: datetime
) -> ErasureRequest:
    """Answer no, with a sentence that the guardian who asked will read."""
    check_lead(lead)
    words = " ".join(sentence.split())
    if not words:
        raise ErasureRefused("Write a sentence for the family: why not?")
    if len(words) > LONGEST:
        raise ErasureRefused(f"Keep it to {LONGEST} characters; this has {len(words)}.")
    waiting = locked(request)
    waiting.answered_at, waiting.answered_by, waiting.answer = now, lead, words
    waiting.save(update_fields=["answered_at", "answered_by", "answer"])
    return waiting


def locked(request: ErasureRequest) -> ErasureRequest:
    """The open request, locked until the transaction ends; refused where it is open no more."""
    found = (
        ErasureRequest.objects.select_for_update(of=("self",))
        .select_related("athlete")
        .filter(pk=request.pk, answered_at__isnull=True)
        .first()
    )
    if found is None:
        raise ErasureRefused("This request is open no more: it was answered or taken back.")
    return found


def check_lead(person: StaffMember) -> None:
    """Refuse whoever is not a lead in service."""
    if not person.active or person.role != Role.LEAD:
        raise ErasureRefused("Only the programme lead may do this.")


def _ask(athlete: Athlete, guardian: Guardian | None, now: datetime) -> ErasureRequest:
    # The child's row is locked, so that two adults who ask at once make one request.
    Athlete.objects.select_for_update().get(pk=athlete.pk)
    waiting = open_request(athlete=athlete)
    if waiting is not None:
        return waiting
    return ErasureRequest.objects.create(athlete=athlete, asked_by=guardian, asked_at=now)
