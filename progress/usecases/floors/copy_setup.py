"""A coach starts a week: with a copy of a setup, or with an empty floor."""

from datetime import date

from django.db import IntegrityError, transaction

from progress.models import Setup, StaffMember
from progress.usecases.floors.changes import FloorRefused, refuse_strangers
from progress.usecases.floors.copies import copy_floor
from progress.usecases.floors.weeks import refuse_taken


@transaction.atomic
def copy_setup(*, source: Setup | None, week: date, today: date, by: StaffMember) -> Setup:
    """A new draft for ``week`` with all that stands in ``source``; None starts an empty one.

    Loops, stops, stations with every fact, variants and equipment are copied; codes stay the same.
    The number of queries does not grow with the setup. Raises FloorRefused for somebody who is no
    coach or lead, a week that is past or taken, and the station library as a source.
    """
    refuse_strangers(by)
    if source is not None and source.library:
        raise FloorRefused("The station library is no setup. Start empty and add stations from it.")
    refuse_taken(week, today=today)
    draft = new_draft(week, name=source.name if source else "")
    if source is not None:
        copy_floor(source, draft)
    return draft


def new_draft(week: date, *, name: str) -> Setup:
    """An empty draft for this week, unless another coach was faster."""
    try:
        with transaction.atomic():
            return Setup.objects.create(published=False, planned_for=week, name=name)
    except IntegrityError as error:
        raise FloorRefused(
            "Another coach has just started a draft for this week. Open theirs on the floor page."
        ) from error
