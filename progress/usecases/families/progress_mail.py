"""Each month or term, guardians who asked for it are mailed how their children get on.

One mail a guardian and period. The row that claims it is stored before the mail goes out, so a run
that breaks off and is started again sends nothing twice; it rather leaves one mail out.
"""

from dataclasses import dataclass
from datetime import date, datetime
from enum import Enum

from django.db.models import Q

from progress.models import Athlete, ConsentKind, Guardian, MailSent, Skill
from progress.models.family import ConsentQuerySet
from progress.usecases.families.consents import consents_in_force
from progress.usecases.see_family import ChildProgress, see_family

TERM_MONTHS = 4  # January to April, May to August, September to December


class Period(Enum):
    """How often."""

    MONTH = "month"
    TERM = "term"


@dataclass(frozen=True)
class ChildLines:
    """What the mail says of one child, under the name the family chose."""

    name: str
    can_do: tuple[Skill, ...]
    working_on: tuple[Skill, ...]
    next_up: tuple[Skill, ...]


@dataclass(frozen=True)
class ProgressMail:
    """One guardian's mail."""

    guardian: Guardian
    children: tuple[ChildLines, ...]


class Claim(Enum):
    """What came of claiming a mail."""

    OURS = "to send"
    SENT = "sent before"
    UNSURE = "left: an earlier run broke off here"


def period_name(period: Period, as_of: date) -> str:
    """``2026-03`` or ``2026 term 1``: mails of one name go out once."""
    if period is Period.MONTH:
        return f"{as_of:%Y-%m}"
    return f"{as_of.year} term {(as_of.month - 1) // TERM_MONTHS + 1}"


def guardians_to_mail(*, as_of: date) -> list[int]:
    """Keys of guardians with an address and a standing yes to mail for a child in the programme."""
    wanted = _wanted(as_of).values("guardian")
    return list(
        Guardian.objects.filter(pk__in=wanted)
        .exclude(email="")
        .order_by("pk")
        .values_list("pk", flat=True)
    )


def mail_for(*, guardian: int, as_of: date) -> ProgressMail | None:
    """The mail as consents stand this moment; None where there is nothing to send any more.

    Asked for just before sending, so that a yes taken back during a long run is heeded.
    """
    found = Guardian.objects.filter(pk=guardian).exclude(email="").first()
    if found is None:
        return None
    consenting = _wanted(as_of).filter(guardian=found).values("athlete")
    children = Athlete.objects.filter(pk__in=consenting).select_related("tier")
    progress = see_family(children=children.order_by("name", "code"), today=as_of)
    if not progress:
        return None
    return ProgressMail(found, tuple(_lines(one) for one in progress))


def claim_state(*, guardian: int, period: str) -> Claim:
    """What claiming would answer; nothing is stored."""
    row = MailSent.objects.filter(guardian=guardian, period=period).first()
    if row is None or (row.failed and row.sent_at is None):
        return Claim.OURS
    return Claim.SENT if row.sent_at else Claim.UNSURE


def claim_mail(*, guardian: int, period: str, now: datetime) -> Claim:
    """Claim the mail for this run. A mail that was refused before may be tried again.

    Two runs at once cannot both claim it: the database lets in one row a guardian and period.
    """
    _, made = MailSent.objects.get_or_create(
        guardian_id=guardian, period=period, defaults={"claimed_at": now}
    )
    if made:
        return Claim.OURS
    refused = MailSent.objects.filter(guardian=guardian, period=period, sent_at=None)
    again = refused.exclude(failed="").update(failed="", claimed_at=now)
    return Claim.OURS if again else claim_state(guardian=guardian, period=period)


def mark_sent(*, guardian: int, period: str, now: datetime) -> None:
    """The mail went out."""
    MailSent.objects.filter(guardian=guardian, period=period).update(sent_at=now, failed="")


def mark_refused(*, guardian: int, period: str, why: str) -> None:
    """The mail surely did not go out: it may be tried again once the address is mended."""
    MailSent.objects.filter(guardian=guardian, period=period).update(failed=why[:200] or "refused")


def _wanted(as_of: date) -> ConsentQuerySet:
    return consents_in_force([ConsentKind.MAIL]).filter(
        Q(athlete__left__isnull=True) | Q(athlete__left__gt=as_of), athlete__erased_at__isnull=True
    )


def _lines(progress: ChildProgress) -> ChildLines:
    # What rests is left out already; that something rests is nobody's business in a mail.
    return ChildLines(progress.name, progress.can_do, progress.working_on, progress.next_up)
