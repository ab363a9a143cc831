"""A small hall: five stations, each for one skill, and children who need one skill each."""

from dataclasses import replace

from progress.engine.station_demand import Demand, Floor, FloorArea, LibraryStation, Need, Standing

MAIN, SMALL = FloorArea("main"), FloorArea("small", small=True)
PRACTISES = {"beam": "balance", "net": "climb", "bar": "hang", "roll": "rolling", "box": "vault"}
LIBRARY = tuple(LibraryStation(code, code.title()) for code in PRACTISES)


def needing(**counts: int) -> tuple[Need, ...]:
    """So many children for each skill, each child with one need."""
    return tuple(
        Need(f"{skill}-{number}", skill)
        for skill, count in counts.items()
        for number in range(count)
    )


def practised(need: Need, station: LibraryStation) -> bool:
    return PRACTISES[station.code] == need.skill


def demand(*needs: Need, library: tuple[LibraryStation, ...] = LIBRARY) -> Demand:
    return Demand.asking(needs, library, practised)


def hall(*stations: str, library: tuple[LibraryStation, ...] = LIBRARY, **more: object) -> Floor:
    standing = tuple(Standing("main", station) for station in stations)
    return replace(Floor((MAIN,), library, standing), **more)  # type: ignore[arg-type]


def changed(code: str, **more: object) -> tuple[LibraryStation, ...]:
    """The library with one station described otherwise."""
    return tuple(
        replace(one, **more) if one.code == code else one  # type: ignore[arg-type]
        for one in LIBRARY
    )


def practised_in(need: Need, station: LibraryStation) -> bool:
    return PRACTISES.get(station.code) == need.skill
