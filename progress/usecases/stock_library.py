"""Put the catalogue's station designs into the gym's station library."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db import transaction

from progress.models import Equipment, Setup, Skill, Station, StationEquipment, Variant

Record = Mapping[str, Any]
OF_OTHERS = ("variants", "equipment")  # parts of a design that are records of their own


@transaction.atomic
def stock_library(*, source: Record) -> int:
    """Add the stations of a catalogue that the library does not have; return how many.

    ``source`` is a catalogue as ``load_catalogue`` takes it, whose skills are stored already. What
    is there stays as it is, so a lead's own changes outlive a second loading.
    """
    library = Setup.objects.library()
    there = set(library.stations.values_list("code", flat=True))
    known = set(Equipment.objects.values_list("code", flat=True))
    Equipment.objects.bulk_create(
        Equipment(**raw) for raw in source.get("equipment", ()) if raw["code"] not in known
    )
    fresh = [raw for raw in source["stations"] if raw["code"] not in there]
    add_stations(library, fresh)
    return len(fresh)


def add_stations(setup: Setup, designs: Iterable[Record]) -> None:
    """Store stations with variants and what they take, inside the caller's transaction."""
    designs = list(designs)
    stations = Station.objects.bulk_create(
        Station(setup=setup, **{key: raw[key] for key in raw if key not in OF_OTHERS})
        for raw in designs
    )
    skills = Skill.objects.in_bulk(field_name="code")
    Variant.objects.bulk_create(
        Variant(station=station, **{**variant, "skill": skills[variant["skill"]]})
        for station, raw in zip(stations, designs, strict=True)
        for variant in raw["variants"]
    )
    equipment = Equipment.objects.in_bulk(field_name="code")
    StationEquipment.objects.bulk_create(
        StationEquipment(station=station, equipment=equipment[code], count=count)
        for station, raw in zip(stations, designs, strict=True)
        for code, count in raw.get("equipment", {}).items()
    )
