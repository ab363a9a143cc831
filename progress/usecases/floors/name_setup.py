"""A coach names a draft, gives it another week, or throws it away."""

from datetime import date

from django.db import IntegrityError, transaction

from progress.models import Setup, StaffMember
from progress.usecases.floors.changes import Done, FloorRefused, open_to_change, week_words
from progress.usecases.floors.weeks import refuse_taken

LONGEST = 120


@transaction.atomic
def name_setup(*, setup: Setup, name: str, week: date | None, today: date, by: StaffMember) -> Done:
    """Name a draft and say for which week it is. An empty name is the week's. Raises FloorRefused.

    Without a week it stands, once published, until another is set.
    """
    held = open_to_change(setup, by)
    name = " ".join(name.split())
    if len(name) > LONGEST:
        raise FloorRefused(f"The name is too long. Write at most {LONGEST} letters.")
    if week is not None and week != held.for_week:
        refuse_taken(week, today=today)
    held.name, held.week, held.planned_for = name, None, week
    try:
        with transaction.atomic():
            held.save(update_fields=["name", "week", "planned_for"])
    except IntegrityError as error:
        raise FloorRefused("Another coach has just taken this week. Choose another.") from error
    return Done(f"Kept: {held}, {f'for {week_words(week)}' if week else 'without a week'}.")


@transaction.atomic
def throw_away(*, setup: Setup, by: StaffMember) -> Done:
    """Delete a draft with everything in it; nothing that was used or published."""
    held = open_to_change(setup, by)
    if held.library:
        raise FloorRefused("The station library cannot be thrown away.")
    name = str(held)
    held.delete()
    return Done(f"The draft {name} is thrown away.")
