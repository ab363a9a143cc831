"""What children need from the floor, what stands on it and what could stand there."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from progress.engine.outcomes import Floats

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Need:
    """A skill that holds one athlete back.

    ``weight`` says how much of the child's need it is, above 0; shares of 1 count every child
    alike. ``area`` is where the child trains, None where any area will do; ``also`` are further
    areas, for a hall in parts and for a child in classes of two kinds.
    """

    athlete: str
    skill: str
    weight: float = 1.0
    area: str | None = None
    also: tuple[str, ...] = ()

    def trains_in(self, area: str) -> bool:
        """Whether the child gets to the stations of this area."""
        return self.area is None or area == self.area or area in self.also


@dataclass(frozen=True)
class LibraryStation:
    """A station the gym can build: floor space in square metres, (equipment, pieces) it takes.

    ``small_area``: it may stand only in a small area.
    """

    code: str
    name: str = ""
    space_m2: float = 0.0
    equipment: tuple[tuple[str, int], ...] = ()
    small_area: bool = False


@dataclass(frozen=True)
class FloorArea:
    """A part of the hall; ``space_m2`` is what stations may take of it, None where not known."""

    code: str
    small: bool = False
    space_m2: float | None = None


@dataclass(frozen=True)
class Standing:
    """A station that stands in an area this week; ``fixed``: the coach wants it to stay."""

    area: str
    station: str
    fixed: bool = False


@dataclass(frozen=True)
class Demand:
    """Needs, and which library stations serve them.

    ``fits`` has a row for each need and a column for each station of the library: True where a
    variant of the station practises the skill and nothing bars the child. ``names`` are skills'
    names for the sentences, their codes where missing. Raises ValueError where
    the shape is wrong, a weight is not above 0 or a child's skill is named twice.
    """

    needs: tuple[Need, ...]
    fits: Bools
    names: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.fits.ndim != 2 or len(self.fits) != len(self.needs):
            raise ValueError("fits needs one row for each need and one column for each station")
        if not all(isfinite(need.weight) and need.weight > 0 for need in self.needs):
            raise ValueError("every need weighs more than 0")
        _once(((need.athlete, need.skill) for need in self.needs), "need")

    @classmethod
    def asking(
        cls,
        needs: Sequence[Need],
        library: Sequence[LibraryStation],
        fits: Callable[[Need, LibraryStation], bool],
        names: Mapping[str, str] | None = None,
    ) -> "Demand":
        """Ask for every pair of a need and a station whether it fits."""
        answers = [[fits(need, station) for station in library] for need in needs]
        shape = (len(needs), len(library))
        return cls(tuple(needs), np.array(answers, dtype=np.bool_).reshape(shape), names or {})


@dataclass(frozen=True)
class Floor:
    """The hall, the library and the present week's stations.

    ``equipment`` is how many pieces the hall has of each kind; a kind that is missing was never
    counted and sets no limit. Raises ValueError for unknown or doubled codes.
    """

    areas: tuple[FloorArea, ...]
    library: tuple[LibraryStation, ...]
    standing: tuple[Standing, ...]
    equipment: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        areas = _once((area.code for area in self.areas), "area")
        codes = _once((station.code for station in self.library), "station of the library")
        _once(((one.area, one.station) for one in self.standing), "station in an area")
        for one in self.standing:
            if one.area not in areas or one.station not in codes:
                raise ValueError(f"{one.station} in {one.area}: not in the library or no such area")


class Table:
    """The same in arrays and in one order, so that the order of input changes nothing.

    A *slot* is a pair of area and station; slots run through the areas and, within each, through
    the stations, both by code. ``serves`` has a row for each need and a column for each slot.
    """

    def __init__(self, demand: Demand, floor: Floor) -> None:
        if demand.fits.shape[1] != len(floor.library):
            raise ValueError("fits needs one column for each station of the library")
        self.floor = floor
        self.names = demand.names
        self.areas = sorted(floor.areas, key=lambda area: area.code)
        columns = sorted(range(len(floor.library)), key=lambda at: floor.library[at].code)
        self.stations = [floor.library[at] for at in columns]
        rows = sorted(
            range(len(demand.needs)),
            key=lambda at: (demand.needs[at].skill, demand.needs[at].athlete),
        )
        self.needs = [demand.needs[at] for at in rows]
        fits = demand.fits[np.ix_(rows, columns)]
        trains = np.array(
            [[need.trains_in(area.code) for area in self.areas] for need in self.needs],
            dtype=np.bool_,
        ).reshape(len(rows), len(self.areas))
        self.serves: Bools = (trains[:, :, None] & fits[:, None, :]).reshape(
            len(rows), len(self.areas) * len(columns)
        )
        self.weights: Floats = np.array([need.weight for need in self.needs], dtype=np.float64)
        self.slots = [(area, station) for area in self.areas for station in self.stations]
        number = {(a.code, s.code): at for at, (a, s) in enumerate(self.slots)}
        self.present = sorted(number[one.area, one.station] for one in floor.standing)
        self.fixed = [number[one.area, one.station] for one in floor.standing if one.fixed]

    def served(self, slots: Sequence[int]) -> Bools:
        """Which needs the stations in these slots serve."""
        return np.asarray(self.serves[:, list(slots)].any(axis=1), dtype=np.bool_)

    def worth(self, slots: Sequence[int]) -> float:
        """Weight of the needs served, each once."""
        return float(self.weights[self.served(slots)].sum())


def _once(codes: Iterable[object], what: str) -> set[object]:
    seen: set[object] = set()
    for code in codes:
        if code in seen:
            raise ValueError(f"{what} named twice: {code}")
        seen.add(code)
    return seen
