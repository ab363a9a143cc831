"""A coach puts a station on a loop: from the station library, or a new one."""

from django.db import transaction

from progress.models import Setup, StaffMember, Station, Variant
from progress.usecases.floors.changes import Done, FloorRefused, a_name, open_to_change
from progress.usecases.floors.codes import fresh, station_code, variant_codes
from progress.usecases.floors.copies import copy_stations
from progress.usecases.floors.stop_lists import Stops


@transaction.atomic
def add_from_library(
    *, setup: Setup, loop: int, design: int, by: StaffMember, instead_of: int | None = None
) -> Done:
    """Copy a library station into the setup and onto a loop, at its end.

    ``instead_of`` is the key of a station on that loop whose place it takes. Raises FloorRefused.
    """
    held = open_to_change(setup, by)
    original = Station.objects.filter(pk=design, setup__library=True).first()
    if original is None:
        raise FloorRefused("This station is no longer in the library. Choose another.")
    station = copy_into(held, original)
    return _put(held, loop, station, instead_of)


@transaction.atomic
def add_new_station(
    *, setup: Setup, loop: int, name: str, by: StaffMember, instead_of: int | None = None
) -> Done:
    """Put a station that is in no library yet on a loop; its variants come next."""
    held = open_to_change(setup, by)
    station = make_station(held, name)
    return _put(held, loop, station, instead_of)


@transaction.atomic
def add_to_library(*, name: str, by: StaffMember) -> Done:
    """Start a new station of the library."""
    held = open_to_change(Setup.objects.library(), by)
    station = make_station(held, name)
    return Done(f"{station} is in the library. Add its variants.", None, station.pk)


def make_station(setup: Setup, name: str) -> Station:
    """A station of this name, with a code that nothing has had before."""
    name = a_name(name, of="station")
    return Station.objects.create(setup=setup, name=name, code=station_code(name))


def copy_into(setup: Setup, original: Station) -> Station:
    """A copy of a library station in this setup.

    A second one of the same design gets codes of its own, because an attempt names a variant by
    its code on the day's floor; what was learnt about the first one stays with the first.
    """
    taken = set(Station.objects.filter(setup=setup).values_list("code", flat=True))
    code = fresh(original.code, taken)
    copy = copy_stations([original], setup, {original.pk: code})[original.pk]
    part_codes(setup, copy)
    return copy


def part_codes(setup: Setup, station: Station) -> None:
    """Give variants whose code stands at another station of this setup a code of their own."""
    own = list(station.variants.order_by("step"))
    elsewhere = Variant.objects.filter(station__setup=setup).exclude(station=station)
    taken = set(elsewhere.filter(code__in=[one.code for one in own]).values_list("code", flat=True))
    twice = [one for one in own if one.code in taken]
    for variant, code in zip(twice, variant_codes([one.code for one in twice]), strict=True):
        variant.code = code
    if twice:
        Variant.objects.bulk_update(twice, ["code"])


def _put(setup: Setup, loop: int, station: Station, instead_of: int | None) -> Done:
    """Stop at the new station, at the end of the loop or in another's place."""
    stops = Stops(setup)
    target = stops.loop(loop)
    says = f"{station} is now on {target}."
    place = None
    if instead_of is not None:
        _, leaves = stops.stop(loop, instead_of)
        place = stops.now[loop].index(instead_of) + 1
        stops.now[loop].remove(instead_of)
        says = f"{station} is now in the place of {leaves} on {target}."
    stops.add(loop, station.pk, place)
    undo = stops.write(f"{station} is off {target} again.")
    return Done(says, undo | {"made": station.pk}, station.pk)
