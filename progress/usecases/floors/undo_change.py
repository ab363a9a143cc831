"""A coach takes the last change to a setup back."""

from django.db import transaction

from progress.models import Area, Loop, Setup, StaffMember, Station
from progress.usecases.floors.change_stations import own_station, restore_station
from progress.usecases.floors.change_variants import restore_variant
from progress.usecases.floors.changes import Done, FloorRefused, Undo, open_to_change
from progress.usecases.floors.stop_lists import Stops, rewrite

MEANWHILE = "Somebody changed this meanwhile, so it cannot be undone. Change it by hand."


@transaction.atomic
def undo_change(*, setup: Setup, undo: Undo, by: StaffMember) -> Done:
    """Bring back what was before the change that gave ``undo``.

    Raises FloorRefused where somebody else has changed the same thing meanwhile; nobody's work is
    undone by another's tap.
    """
    held = open_to_change(setup, by)
    kind = undo["kind"]
    if kind == "stops":
        _stops(held, undo)
    elif kind == "loop":
        _loop(held, undo)
    elif kind == "loop_facts":
        _loop_facts(held, undo)
    elif kind == "station":
        return Done(undo["says"], None, restore_station(held, undo).pk)
    elif kind == "variant":
        restore_variant(own_station(held, undo["station"]), undo)
    else:
        raise FloorRefused("This change cannot be undone.")
    return Done(undo["says"], None, undo.get("station"))


def _stops(setup: Setup, undo: Undo) -> None:
    stops = Stops(setup)
    now = {int(pk): order for pk, order in undo["now"].items()}
    was = {int(pk): order for pk, order in undo["was"].items()}
    gone = {pk for order in was.values() for pk in order} - set(stops.stations)
    if gone or any(stops.was.get(pk) != order for pk, order in now.items()):
        raise FloorRefused(MEANWHILE)
    rewrite(was)
    if "made" in undo:
        # What the change made goes again, unless another loop stops there by now.
        Station.objects.filter(setup=setup, pk=undo["made"], stops__isnull=True).delete()


def _loop(setup: Setup, undo: Undo) -> None:
    """The loop with the stations that are still there, in their order."""
    values = undo["values"]
    if Loop.objects.filter(setup=setup, code=values["code"]).exists():
        raise FloorRefused(MEANWHILE)
    if not Area.objects.filter(pk=values["area_id"]).exists():
        raise FloorRefused("Its area is no longer there. Add the loop anew.")
    loop = Loop.objects.create(setup=setup, **values)
    stops = Stops(setup)
    for pk in undo["stations"]:
        if pk in stops.stations:
            stops.add(loop.pk, pk)
    stops.write("")


def _loop_facts(setup: Setup, undo: Undo) -> None:
    found = Loop.objects.filter(setup=setup, pk=undo["loop"]).first()
    if found is None or [found.name, found.area_id] != list(undo["now"]):
        raise FloorRefused(MEANWHILE)
    area = undo["was"][1]
    shared = Loop.objects.filter(stations__loops=found).exclude(pk=found.pk).exclude(area=area)
    if shared.exists() or not Area.objects.filter(pk=area).exists():
        raise FloorRefused(MEANWHILE)
    found.name, found.area_id = undo["was"]
    found.save(update_fields=["name", "area"])
