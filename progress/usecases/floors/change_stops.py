"""A coach moves stations along a loop, to another loop, out of a loop, or swaps one for another."""

from django.db import transaction

from progress.models import Setup, StaffMember
from progress.usecases.floors.changes import Done, FloorRefused, open_to_change
from progress.usecases.floors.stop_lists import Stops


@transaction.atomic
def move_stop(
    *, setup: Setup, loop: int, station: int, by: StaffMember, steps: int = 0, place: int = 0
) -> Done:
    """Move a station within its loop: by ``steps`` (-1 is earlier), or to ``place`` from 1.

    Beyond either end it stays at the end. ``loop`` and ``station`` are keys. Raises FloorRefused.
    """
    stops = Stops(open_to_change(setup, by))
    there, which = stops.stop(loop, station)
    order = stops.now[loop]
    here = order.index(station)
    wanted = place - 1 if place else here + steps
    target = max(0, min(wanted, len(order) - 1))
    order.insert(target, order.pop(here))
    if target == here:
        end = "first" if here == 0 else "last"
        return Done(f"{which} is {end} on {there} already." if steps else f"{which} stays put.")
    undo = stops.write(f"{which} is back at place {here + 1} on {there}.")
    return Done(f"{which} is now number {target + 1} on {there}.", undo, station)


@transaction.atomic
def move_to_loop(
    *, setup: Setup, loop: int, station: int, to_loop: int, by: StaffMember, place: int = 0
) -> Done:
    """Move a station from one loop to another, to ``place`` from 1 or to the end.

    Raises FloorRefused where the other loop stops there already, or runs in another area than a
    third loop that shares the station.
    """
    stops = Stops(open_to_change(setup, by))
    there, which = stops.stop(loop, station)
    stops.now[loop].remove(station)
    stops.add(to_loop, station, place or None)
    number = stops.now[to_loop].index(station) + 1
    undo = stops.write(f"{which} is back on {there}.")
    return Done(f"{which} is now number {number} on {stops.loop(to_loop)}.", undo, station)


@transaction.atomic
def share_station(
    *, setup: Setup, loop: int, station: int, by: StaffMember, place: int = 0
) -> Done:
    """Let a loop stop at a station that stands in this setup already.

    Loops that share stations start together, split and meet again. Raises FloorRefused.
    """
    stops = Stops(open_to_change(setup, by))
    stops.add(loop, station, place or None)
    target, which = stops.loop(loop), stops.station(station)
    others = [str(stops.loops[pk]) for pk, order in stops.was.items() if station in order]
    undo = stops.write(f"{which} is off {target} again.")
    shared = f", shared with {' and '.join(others)}" if others else ""
    return Done(f"{which} is now on {target}{shared}.", undo, station)


@transaction.atomic
def take_out(*, setup: Setup, loop: int, station: int, by: StaffMember) -> Done:
    """Take a station out of a loop; where no other loop stops there it is put aside."""
    stops = Stops(open_to_change(setup, by))
    there, which = stops.stop(loop, station)
    stops.now[loop].remove(station)
    elsewhere = any(station in order for order in stops.now.values())
    undo = stops.write(f"{which} is back on {there}.")
    aside = "" if elsewhere else " It is put aside below."
    return Done(f"{which} is taken out of {there}.{aside}", undo, station)


@transaction.atomic
def swap_stop(*, setup: Setup, loop: int, station: int, other: int, by: StaffMember) -> Done:
    """Put another station of this setup in the place of one on a loop.

    Where the loop stops at both, they change places. Raises FloorRefused.
    """
    stops = Stops(open_to_change(setup, by))
    there, which = stops.stop(loop, station)
    comes = stops.station(other)
    if other == station:
        raise FloorRefused(f"{which} cannot be swapped for itself. Choose another station.")
    order = stops.now[loop]
    here = order.index(station)
    if other in order:
        order[order.index(other)], order[here] = station, other
    else:
        order.remove(station)
        stops.add(loop, other, here + 1)
    undo = stops.write(f"{which} is back in its place on {there}.")
    return Done(f"{comes} is now in the place of {which} on {there}.", undo, other)
