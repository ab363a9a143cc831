"""A coach adds a loop to a setup, renames it, or removes it."""

from django.db import transaction
from django.db.models import Max

from progress.models import Area, Loop, LoopStop, Setup, StaffMember
from progress.usecases.floors.changes import Done, FloorRefused, a_name, open_to_change
from progress.usecases.floors.codes import loop_code


@transaction.atomic
def add_loop(*, setup: Setup, name: str, area: int | None, by: StaffMember) -> Loop:
    """A new loop without stations, after the others. ``area`` is a key. Raises FloorRefused."""
    held = open_to_change(setup, by)
    name = a_name(name, of="loop")
    last = Loop.objects.filter(setup=held).aggregate(last=Max("order"))["last"] or 0
    return Loop.objects.create(
        setup=held,
        area=an_area(area),
        name=name,
        code=loop_code(held, name),
        order=last + 1,
    )


@transaction.atomic
def change_loop(*, setup: Setup, loop: int, name: str, area: int | None, by: StaffMember) -> Done:
    """Give a loop another name or area; a loop that shares a station keeps its area."""
    held = open_to_change(setup, by)
    found = own_loop(held, loop)
    was = (found.name, found.area_id)
    found.name = a_name(name, of="loop")
    found.area = an_area(area)
    if found.area_id != was[1]:
        shared = (
            LoopStop.objects.filter(station__stops__loop=found)
            .exclude(loop=found)
            .exclude(loop__area=found.area)
            .select_related("loop", "station")
            .order_by("loop__order", "position")
            .first()
        )
        if shared is not None:
            raise FloorRefused(
                f"{found} shares {shared.station} with {shared.loop}, which runs in another area."
                f" Take {shared.station} out of one of them first, or move both loops."
            )
    found.save(update_fields=["name", "area"])
    undo = {"kind": "loop_facts", "loop": found.pk, "was": was, "now": (found.name, found.area_id)}
    return Done(f"{found} is kept, in {found.area}.", undo | {"says": f"{was[0]} is as it was."})


@transaction.atomic
def remove_loop(*, setup: Setup, loop: int, by: StaffMember) -> Done:
    """Remove a loop; stations no other loop stops at are put aside."""
    held = open_to_change(setup, by)
    found = own_loop(held, loop)
    stops = LoopStop.objects.filter(loop=found).order_by("position")
    undo = {
        "kind": "loop",
        "says": f"{found} is back.",
        "values": {
            "code": found.code,
            "name": found.name,
            "area_id": found.area_id,
            "order": found.order,
        },
        "stations": list(stops.values_list("station_id", flat=True)),
    }
    found.delete()
    aside = " Stations only it stopped at are put aside below." if undo["stations"] else ""
    return Done(f"{found} is removed.{aside}", undo)


def own_loop(setup: Setup, pk: int) -> Loop:
    """The loop of this setup; FloorRefused where it is gone."""
    found = Loop.objects.filter(setup=setup, pk=pk).first()
    if found is None:
        raise FloorRefused("This loop is no longer in the setup. Look at the list again.")
    return found


def an_area(pk: int | None) -> Area:
    """The area; FloorRefused where there is none."""
    area = Area.objects.filter(pk=pk).first() if pk else None
    if area is None:
        raise FloorRefused("The loop has no area. Choose the part of the hall it runs in.")
    return area
