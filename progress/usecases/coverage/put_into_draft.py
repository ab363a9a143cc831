"""A coach takes a proposal over: stations of the library take the places of others in a draft."""

from collections.abc import Sequence

from django.db import transaction

from progress.models import LoopStop, Setup, StaffMember, Station
from progress.usecases.floors.add_station import copy_into
from progress.usecases.floors.changes import Done, FloorRefused, open_to_change
from progress.usecases.floors.stop_lists import Stops


@transaction.atomic
def put_into_draft(*, setup: Setup, swaps: Sequence[tuple[int, int, int]], by: StaffMember) -> Done:
    """Make each (key of what goes, key of what comes, key of the area) in turn, all or none.

    What comes is copied, with variants and equipment, from the library or from this setup itself.
    It takes the place of what goes in every loop of that area; what goes is put aside and can be
    brought back. Raises FloorRefused for a setup that is no draft, and where somebody changed the
    draft meanwhile.
    """
    draft = open_to_change(setup, by)
    if draft.library:
        raise FloorRefused("The library is no floor. Open a draft and look at its coverage.")
    if not swaps:
        raise FloorRefused("Nothing was chosen to put into the draft.")
    made = [_swap(draft, *swap) for swap in swaps]
    return Done(" ".join(made))


def _swap(draft: Setup, out: int, into: int, area: int) -> str:
    stops = Stops(draft)
    goes = stops.station(out)
    comes = Station.objects.filter(pk=into, setup__in=[draft, Setup.objects.library()]).first()
    if comes is None:
        raise FloorRefused("That station is no longer in the library. Look at the coverage again.")
    there = LoopStop.objects.filter(station=goes, loop__setup=draft, loop__area=area)
    loops = list(there.values_list("loop_id", flat=True))
    if not loops:
        raise FloorRefused(
            f"{goes} does not stand there any more: somebody changed the draft. Look at the"
            " coverage again."
        )
    copy = copy_into(draft, comes)
    for loop in loops:
        order = stops.now[loop]
        order[order.index(out)] = copy.pk
    stops.write("")
    return f"{copy} is in the place of {goes}, which is put aside."
