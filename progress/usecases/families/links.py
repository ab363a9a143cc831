"""Staff make a guardian's private link, or revoke all of them; the guardian opens it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import transaction

from progress.models import FamilyCode, FamilyLink, Guardian, StaffMember
from progress.usecases.families.secrets_kept import digest_of, new_token

LASTS = timedelta(days=90)


class LinkRefused(ValueError):
    """The link cannot be made; the message says why."""


@dataclass(frozen=True)
class NewLink:
    """``token`` is the secret part: it is never stored and cannot be shown again."""

    link: FamilyLink
    token: str


def make_link(*, guardian: Guardian, staff: StaffMember, now: datetime) -> NewLink:
    """Make a link that opens this guardian's page for 90 days. Earlier links go on working."""
    if not staff.active:
        raise LinkRefused("Only staff may make a family's link.")
    if not guardian.guardianships.filter(may_see=True).exists():
        raise LinkRefused(f"{guardian} may see no child's page: a link would open nothing.")
    token = new_token()
    link = FamilyLink.objects.create(
        guardian=guardian,
        digest=digest_of(token),
        made_at=now,
        made_by=staff,
        expires_at=now + LASTS,
    )
    return NewLink(link, token)


@transaction.atomic
def revoke_links(*, guardian: Guardian, staff: StaffMember, now: datetime) -> int:
    """Close all of a guardian's links and codes, and every page opened with one, at once."""
    if not staff.active:
        raise LinkRefused("Only staff may revoke a family's links.")
    FamilyCode.objects.filter(guardian=guardian, used_at=None).update(used_at=now)
    return FamilyLink.objects.open_at(now).filter(guardian=guardian).update(revoked_at=now)


def open_link(*, token: str, now: datetime) -> FamilyLink | None:
    """The link this secret opens, None for one that is wrong, run out or revoked."""
    if len(token) > 200:
        return None
    link = FamilyLink.objects.open_at(now).filter(digest=digest_of(token)).first()
    if link is not None:
        FamilyLink.objects.filter(pk=link.pk).update(opened_at=now)
    return link


def link_in_force(*, number: int, now: datetime) -> FamilyLink | None:
    """The link an opened page came by, with its guardian, while it still opens: one query."""
    open_now = FamilyLink.objects.open_at(now).select_related("guardian")
    return open_now.filter(pk=number).first()
