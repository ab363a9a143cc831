"""A coach writes down a station's facts, or removes a station."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from progress.models import Equipment, Mat, Setup, StaffMember, Station, StationEquipment, Variant
from progress.models.stations import METRES, StationKind
from progress.usecases.floors.changes import Done, FloorRefused, Undo, a_name, open_to_change
from progress.usecases.floors.copies import plain_values_of

FACTS = ("name", "kind", "small_area", "mat", "mat_checked", "way_down", *METRES)
METRE_WORDS = {
    "space_m2": "floor it takes",
    "mat_rated_m": "fall height of the mat",
    "clear_m": "clear landing floor",
    "spacing_m": "distance to the next station",
    "swing_m": "free run of the swing",
}
MOST_METRES = 1000


@transaction.atomic
def change_station(
    *,
    station: Station,
    facts: Mapping[str, Any],
    equipment: Mapping[int, int],
    by: StaffMember,
) -> Done:
    """Store a station's facts (the names in ``FACTS``) and how many of which equipment it takes.

    ``equipment`` is a count by key; none or 0 where it takes none. Raises FloorRefused.
    """
    held = own_station(open_to_change(station.setup, by), station.pk)
    check_facts(facts)
    for name in FACTS:
        if name in facts:
            setattr(held, name, facts[name])
    held.name = a_name(str(facts["name"]), of="station")
    held.save()
    known = set(Equipment.objects.values_list("pk", flat=True))
    StationEquipment.objects.filter(station=held).delete()
    StationEquipment.objects.bulk_create(
        StationEquipment(station=held, equipment_id=pk, count=count)
        for pk, count in equipment.items()
        if count and pk in known
    )
    return Done(f"{held} is kept.", None, held.pk)


def check_facts(facts: Mapping[str, Any]) -> None:
    """Raise FloorRefused for what no station can be, before the database does."""
    name = facts["name"]
    if facts.get("kind", StationKind.OTHER) not in StationKind.values:
        raise FloorRefused(f"{name}: this kind is not known. Choose one from the list.")
    if facts.get("mat", Mat.UNKNOWN) not in Mat.values:
        raise FloorRefused(f"{name}: this mat is not known. Choose one from the list.")
    for field, words in METRE_WORDS.items():
        number = facts.get(field)
        if number is not None and not 0 < number <= MOST_METRES:
            raise FloorRefused(
                f"{name}: the {words} must be above 0 and at most {MOST_METRES}. Mend the number,"
                " or leave it empty where you do not know.",
                field,
            )


@transaction.atomic
def remove_station(*, station: Station, by: StaffMember) -> Done:
    """Remove a station that no loop stops at, or one of the library."""
    setup = open_to_change(station.setup, by)
    held = own_station(setup, station.pk)
    loops = list(held.loops.order_by("order"))
    if loops:
        names = " and ".join(str(loop) for loop in loops)
        raise FloorRefused(f"{held} is on {names}. Take it out there first.")
    variants = [plain_values_of(one, "station_id") for one in held.variants.order_by("step")]
    undo: Undo = {
        "kind": "station",
        "says": f"{held} is back.",
        "values": plain_values_of(held, "setup_id"),
        "variants": variants,
        "equipment": list(held.equipment_links.values_list("equipment_id", "count")),
    }
    held.delete()
    where = "from the library" if setup.library else "from this setup"
    return Done(f"{held} is removed {where}.", undo)


def own_station(setup: Setup, pk: int) -> Station:
    """The station of this setup; FloorRefused where it is gone."""
    found = Station.objects.filter(setup=setup, pk=pk).first()
    if found is None:
        raise FloorRefused("This station is no longer there. Look at the list again.")
    return found


def restore_station(setup: Setup, undo: Undo) -> Station:
    """Bring a removed station back with its variants and equipment."""
    values = undo["values"]
    if Station.objects.filter(setup=setup, code=values["code"]).exists():
        raise FloorRefused(f"{values['name']} is there again already.")
    station = Station.objects.create(setup=setup, **values)
    Variant.objects.bulk_create(Variant(station=station, **one) for one in undo["variants"])
    known = set(Equipment.objects.values_list("pk", flat=True))
    StationEquipment.objects.bulk_create(
        StationEquipment(station=station, equipment_id=pk, count=count)
        for pk, count in undo["equipment"]
        if pk in known
    )
    return station
