"""Which stored or coming variant an attempt's variant code means."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import NamedTuple

from progress.models import Variant
from progress.usecases.folders.floor_changes import FloorChange
from progress.usecases.folders.plans import SetupPlan

# The week of a setup, and 0 for the one setup a week can have; several drafts may be without a
# week, so these carry their own number.
SetupKey = tuple[date | None, int]


class Place(NamedTuple):
    """Where a variant code stands on a floor."""

    setup: SetupKey
    station: str
    code: str
    skill: str
    published: bool


def stored_places() -> Iterator[tuple[Place, int]]:
    """Every variant that stands or stood on a floor with its place; not those of the library."""
    on_floors = Variant.objects.filter(station__setup__library=False)
    rows = on_floors.order_by().values_list(
        "pk",
        "code",
        "skill__code",
        "station__code",
        "station__setup__week",
        "station__setup__published",
        "station__setup_id",
    )
    for pk, code, skill, station, week, published, setup_pk in rows.iterator():
        draft = week is None and not published
        yield Place((week, setup_pk if draft else 0), station, code, skill, published), pk


def coming_places(plan: SetupPlan) -> Iterator[Place]:
    """The variants a folder brings for one week."""
    for station in plan.stations:
        for variant in station.variants:
            yield Place((plan.week, 0), station.code, variant.code, variant.skill, True)


class VariantIndex:
    """Finds a variant by its code as the floor will be once the folder is stored."""

    def __init__(self, changes: Iterable[FloorChange]) -> None:
        changed = [change.plan for change in changes if not change.same]
        replaced = {(plan.week, 0) for plan in changed}
        self.places: dict[str, list[Place]] = {}
        self._found: dict[tuple[str, str, date], Place] = {}
        for place, _ in stored_places():
            if place.setup not in replaced:
                self.places.setdefault(place.code, []).append(place)
        for plan in changed:
            for place in coming_places(plan):
                self.places.setdefault(place.code, []).append(place)

    def find(self, code: str, skill: str, day: date) -> Place:
        """The variant meant by an attempt at ``skill`` on ``day``; KeyError for unknown codes.

        The published setup of the week comes first, then the undated one, then the latest before,
        then any. Where a code stands at two stations of one setup, the one that practises the
        attempted skill is meant.
        """
        monday = day - timedelta(days=day.weekday())
        asked = (code, skill, monday)
        if asked not in self._found:
            self._found[asked] = min(
                self.places[code], key=lambda place: (distance(place, monday), place.skill != skill)
            )
        return self._found[asked]


def distance(place: Place, monday: date) -> tuple[int, int]:
    """How far a setup is from the floor of a week; less is nearer."""
    week, number = place.setup
    if not place.published:
        return (4, -week.toordinal() if week else number)
    if week is None:
        return (1, 0)
    if week == monday:
        return (0, 0)
    if week < monday:
        return (2, -week.toordinal())
    return (3, week.toordinal())
