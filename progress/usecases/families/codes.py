"""A guardian opens the page with a short code by mail in place of a long-lived link."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F

from progress.models import FamilyCode, FamilyLink, Guardian
from progress.usecases.families.secrets_kept import digest_of, new_code, new_token

LASTS = timedelta(minutes=10)
PAGE_LASTS = timedelta(hours=12)
MOST_TRIES = 5
MOST_CODES = 3  # within AGAIN_AFTER: enough for a lost mail, too few to fill a mailbox
AGAIN_AFTER = timedelta(minutes=15)


@dataclass(frozen=True)
class CodeToSend:
    """A code and whom it goes to; it is not stored in the clear."""

    guardian: Guardian
    code: str


def ask_for_codes(*, email: str, now: datetime) -> list[CodeToSend]:
    """A code for every guardian with this address, none where it is unknown.

    The caller answers alike either way: nobody learns whose address is known. Addresses are
    compared without regard to capitals; at most three codes in a quarter of an hour.
    """
    guardians = Guardian.objects.filter(
        email__iexact=email.strip(), guardianships__may_see=True
    ).exclude(email="")
    found = []
    for guardian in guardians.distinct().order_by("pk"):
        lately = FamilyCode.objects.filter(guardian=guardian, made_at__gt=now - AGAIN_AFTER)
        if lately.count() >= MOST_CODES:
            continue
        code = new_code()
        FamilyCode.objects.create(
            guardian=guardian,
            digest=_digest(guardian, code),
            made_at=now,
            expires_at=now + LASTS,
        )
        found.append(CodeToSend(guardian, code))
    return found


@transaction.atomic
def open_with_code(*, email: str, code: str, now: datetime) -> FamilyLink | None:
    """A link for one sitting if the code is right, unused, in time and not tried too often.

    A wrong code counts against every code of this address that is still open.
    """
    waiting = (
        FamilyCode.objects.select_for_update()
        .filter(guardian__email__iexact=email.strip(), used_at=None)
        .filter(expires_at__gt=now, tries__lt=MOST_TRIES)
        .exclude(guardian__email="")
    )
    for one in waiting:
        if one.digest == digest_of(f"{one.guardian_id}:{code}"):
            FamilyCode.objects.filter(pk=one.pk).update(used_at=now)
            return FamilyLink.objects.create(
                guardian_id=one.guardian_id,
                digest=digest_of(new_token()),  # Nobody is told this one: it is for this sitting.
                made_at=now,
                expires_at=now + PAGE_LASTS,
                opened_at=now,
            )
    FamilyCode.objects.filter(pk__in=[one.pk for one in waiting]).update(tries=F("tries") + 1)
    return None


def _digest(guardian: Guardian, code: str) -> str:
    return digest_of(f"{guardian.pk}:{code}")
