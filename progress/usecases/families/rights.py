"""Staff say which guardian may see which child; taking a right away works at once."""

from progress.models import Athlete, Guardian, Guardianship, Role, StaffMember


class RightRefused(ValueError):
    """The right cannot be changed; the message says why."""


def set_right(
    *, guardian: Guardian, athlete: Athlete, may_see: bool, staff: StaffMember
) -> Guardianship:
    """Give or take the guardian's right to see this child's page.

    The lead and the front desk may, coaches not. Raises RightRefused.
    """
    if not staff.active or staff.role not in (Role.LEAD, Role.DESK):
        raise RightRefused("Only the lead or the front desk may change who sees a child's page.")
    link = Guardianship.objects.filter(guardian=guardian, athlete=athlete).first()
    if link is None:
        raise RightRefused(f"{guardian} is not linked to this child.")
    link.may_see = may_see
    link.save(update_fields=["may_see"])
    return link
