"""A coach keeps a station of a setup in the station library, for other weeks."""

from django.db import transaction

from progress.models import Setup, StaffMember, Station, Variant
from progress.usecases.floors.changes import Done, FloorRefused, lock, refuse_strangers
from progress.usecases.floors.codes import fresh
from progress.usecases.floors.copies import copy_stations


@transaction.atomic
def keep_in_library(*, station: Station, by: StaffMember, replace: bool = False) -> Done:
    """Copy a station with all it has into the library.

    ``replace``: the library's station of the same code makes way; otherwise this one is kept beside
    it under a code of its own. Setups that were made from the library do not change. Any setup will
    do, a published one too. Raises FloorRefused.
    """
    refuse_strangers(by)
    library = lock(Setup.objects.library())
    found = Station.objects.filter(pk=station.pk).first()
    if found is None or found.setup_id == library.pk:
        raise FloorRefused("This station is no longer in the setup. Look at the list again.")
    if not Variant.objects.filter(station=found).exists():
        raise FloorRefused(f"{found} has no variants yet. Add one, then keep it.")
    there = Station.objects.filter(setup=library, code=found.code)
    if replace:
        there.delete()
        copy_stations([found], library)
        return Done(f"{found} in the library is now as it stands here.", None, found.pk)
    taken = set(Station.objects.filter(setup=library).values_list("code", flat=True))
    copy_stations([found], library, {found.pk: fresh(found.code, taken)})
    return Done(f"{found} is kept in the library.", None, found.pk)
