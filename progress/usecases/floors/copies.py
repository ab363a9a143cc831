"""Copying stations with all they have, in bulk, inside the caller's transaction."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Model

from progress.models import Loop, LoopStop, Setup, Station, StationEquipment, Variant


def values_of(record: Model, *but: str) -> dict[str, Any]:
    """A record's own columns by attribute name, without its key and without ``but``."""
    left = {"id", *but}
    names = (field.attname for field in record._meta.concrete_fields)
    return {name: getattr(record, name) for name in names if name not in left}


def plain_values_of(record: Model, *but: str) -> dict[str, Any]:
    """The same as plain data that JSON keeps; days are written out."""
    values = values_of(record, *but)
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in values.items()
    }


def copy_stations(
    stations: Iterable[Station], setup: Setup, codes: dict[int, str] | None = None
) -> dict[int, Station]:
    """Copy stations into ``setup`` with variants and equipment; return the copies by old key.

    ``codes`` gives a station another code, by its old key. Variants keep theirs, so that what was
    learnt about them carries over. Five queries, whatever their number (SQLite sends long lists in
    parts).
    """
    codes = codes or {}
    originals = list(stations)
    made = Station.objects.bulk_create(
        Station(
            setup=setup,
            code=codes.get(one.pk, one.code),
            **values_of(one, "setup_id", "code"),
        )
        for one in originals
    )
    copies = {one.pk: copy for one, copy in zip(originals, made, strict=True)}
    Variant.objects.bulk_create(
        Variant(station=copies[one.station_id], **values_of(one, "station_id"))
        for one in Variant.objects.filter(station__in=copies).order_by("pk")
    )
    StationEquipment.objects.bulk_create(
        StationEquipment(station=copies[one.station_id], **values_of(one, "station_id"))
        for one in StationEquipment.objects.filter(station__in=copies).order_by("pk")
    )
    return copies


def copy_floor(source: Setup, target: Setup) -> None:
    """Copy loops, stops and the stations they stop at; stations put aside stay behind."""
    stops = list(LoopStop.objects.filter(loop__setup=source).order_by("loop", "position"))
    on_loops = {stop.station_id for stop in stops}
    stations = Station.objects.filter(setup=source).order_by("pk")
    copies = copy_stations([one for one in stations if one.pk in on_loops], target)
    originals = list(Loop.objects.filter(setup=source).order_by("pk"))
    made = Loop.objects.bulk_create(
        Loop(setup=target, **values_of(one, "setup_id")) for one in originals
    )
    loops = {one.pk: copy for one, copy in zip(originals, made, strict=True)}
    places = dict.fromkeys(loops, 0)
    rows = []
    for stop in stops:
        places[stop.loop_id] += 1
        rows.append(
            LoopStop(
                loop=loops[stop.loop_id],
                station=copies[stop.station_id],
                position=places[stop.loop_id],
            )
        )
    LoopStop.objects.bulk_create(rows)
