"""A week's floor with a shared start, and what tests ask of it."""

from dataclasses import dataclass

from progress.models import Loop, LoopStop, Setup, Skill, StaffMember, Station
from progress.usecases.floors.changes import Done
from progress.usecases.floors.undo_change import undo_change
from tests import makers


@dataclass(frozen=True)
class Hall:
    """A draft: left (start, beam, drop), right (start, rope), and little (shapes) elsewhere."""

    setup: Setup
    left: Loop
    right: Loop
    little: Loop
    start: Station
    beam: Station
    drop: Station
    rope: Station
    shapes: Station


def make_hall(skill: Skill, **values: object) -> Hall:
    """The hall, a draft unless ``values`` say otherwise."""
    setup = makers.make_setup(**({"published": False} | values))  # type: ignore[arg-type]
    stations = {
        code: makers.make_station(setup, code, variants=[skill])
        for code in ("start", "beam", "drop", "rope", "shapes")
    }
    start, beam, drop, rope, shapes = stations.values()
    return Hall(
        setup,
        makers.make_loop(setup, "left", stations=(start, beam, drop), order=1),
        makers.make_loop(setup, "right", stations=(start, rope), order=2),
        makers.make_loop(
            setup,
            "little",
            stations=(shapes,),
            area=makers.make_area("small", small=True),
            order=3,
        ),
        *stations.values(),
    )


def order_of(loop: Loop) -> list[str]:
    """Codes of the stations of a loop in order; its places must run from 1 without a hole."""
    stops = LoopStop.objects.filter(loop=loop).select_related("station").order_by("position")
    assert [stop.position for stop in stops] == list(range(1, len(stops) + 1))
    return [stop.station.code for stop in stops]


def undone(hall: Hall, done: Done, by: StaffMember) -> Done:
    """Undo what was done."""
    assert done.undo is not None
    return undo_change(setup=hall.setup, undo=done.undo, by=by)
