"""Who may write down what happens in a class."""

from progress.models import Role, StaffMember


def may_record(person: StaffMember) -> bool:
    """Whether this is an active coach or lead; the desk and those who have left write nothing."""
    return person.active and person.role in (Role.COACH, Role.LEAD)
