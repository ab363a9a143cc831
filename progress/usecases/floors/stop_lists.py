"""The order of stations in loops, read and written as whole lists.

A loop's stops are always rewritten together, numbered from 1 without a hole, while the setup is
locked: so two coaches changing at once come one after the other, and no place is given twice.
"""

from collections.abc import Mapping, Sequence

from progress.models import Loop, LoopStop, Setup, Station
from progress.usecases.floors.changes import FloorRefused, Undo

Lists = dict[int, list[int]]  # keys of stations in order, by the key of the loop


class Stops:
    """A locked setup's loops and stations with the order they have now. Three queries."""

    def __init__(self, setup: Setup) -> None:
        self.loops = {loop.pk: loop for loop in Loop.objects.filter(setup=setup)}
        self.stations = {station.pk: station for station in Station.objects.filter(setup=setup)}
        self.was: Lists = {pk: [] for pk in self.loops}
        stops = LoopStop.objects.filter(loop__setup=setup).order_by("loop", "position")
        for loop, station in stops.values_list("loop_id", "station_id"):
            self.was[loop].append(station)
        self.now: Lists = {loop: list(stations) for loop, stations in self.was.items()}

    def loop(self, pk: int) -> Loop:
        """The loop; FloorRefused where it is gone."""
        if pk not in self.loops:
            raise FloorRefused("This loop is no longer in the setup. Look at the list again.")
        return self.loops[pk]

    def station(self, pk: int) -> Station:
        """The station; FloorRefused where it is gone."""
        if pk not in self.stations:
            raise FloorRefused("This station is no longer in the setup. Look at the list again.")
        return self.stations[pk]

    def stop(self, loop: int, station: int) -> tuple[Loop, Station]:
        """Both, where the loop stops at the station; else FloorRefused."""
        there, which = self.loop(loop), self.station(station)
        if station not in self.now[loop]:
            raise FloorRefused(
                f"{there} does not stop at {which} any more. Somebody changed it meanwhile."
            )
        return there, which

    def add(self, loop: int, station: int, place: int | None = None) -> None:
        """Stop at a station of this setup, at ``place`` from 1 or at the end.

        Raises FloorRefused where the loop stops there already, and where another loop that shares
        the station runs in another area.
        """
        target, which = self.loop(loop), self.station(station)
        if station in self.now[loop]:
            raise FloorRefused(f"{target} stops at {which} already. A loop comes to one once.")
        for other, stations in self.now.items():
            if station in stations and self.loops[other].area_id != target.area_id:
                raise FloorRefused(
                    f"{which} stands on {self.loops[other]}, in another area than {target}. Loops"
                    " share a station only in one area: add a second one from the library."
                )
        end = len(self.now[loop]) + 1
        self.now[loop].insert(max(1, min(place or end, end)) - 1, station)

    def write(self, says: str) -> Undo:
        """Store what changed and return how to undo it. Two queries where anything changed."""
        changed = {pk: order for pk, order in self.now.items() if order != self.was[pk]}
        rewrite(changed)
        return {"kind": "stops", "says": says, **pairs(self.was, changed)}


def pairs(was: Lists, now: Lists) -> Undo:
    """The lists before and after, for the loops in ``now``, as JSON keeps them."""
    return {
        "was": {str(pk): was[pk] for pk in now},
        "now": {str(pk): order for pk, order in now.items()},
    }


def rewrite(orders: Mapping[int, Sequence[int]]) -> None:
    """Store these loops' stops anew, numbered from 1."""
    if not orders:
        return
    LoopStop.objects.filter(loop__in=list(orders)).delete()
    LoopStop.objects.bulk_create(
        LoopStop(loop_id=loop, station_id=station, position=position)
        for loop, stations in orders.items()
        for position, station in enumerate(stations, start=1)
    )
