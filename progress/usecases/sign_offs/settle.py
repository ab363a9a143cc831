"""The family wants to stay in the class they are in: no other place is looked for."""

from django.db import transaction

from progress.models import Athlete, SignOff, StaffMember
from progress.usecases.sign_offs.latest import latest_standing
from progress.usecases.sign_offs.refused import SignOffRefused, check_lead


@transaction.atomic
def settle(*, sign_off: SignOff, stays: bool, lead: StaffMember) -> None:
    """Note that the athlete stays where they are, or that a place is looked for again.

    Raises SignOffRefused where another decision about the athlete holds by now.
    """
    check_lead(lead)
    athlete = Athlete.objects.select_for_update().get(pk=sign_off.athlete_id)
    latest = latest_standing([athlete]).get(athlete.pk)
    if latest is None or latest.pk != sign_off.pk:
        raise SignOffRefused({"": f"{athlete}: another decision holds by now. Look again."})
    SignOff.objects.filter(pk=sign_off.pk).update(stays=stays)
