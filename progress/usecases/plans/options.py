"""What a coach can choose for a child at a station: what fits, and what speaks against the rest."""

from collections.abc import Mapping
from dataclasses import dataclass

from progress.engine.calibration import stations_of, variant_priors
from progress.engine.stops import barred
from progress.engine.terms import Station
from progress.engine.variants import Fitting
from progress.usecases.see_class import ClassTonight


@dataclass(frozen=True)
class Option:
    """A variant by code: its chance of a clean try, or None and what speaks ``against`` it."""

    variant: str
    chance: float | None
    against: str = ""


@dataclass(frozen=True)
class StationOptions:
    """Looks up the options of each athlete (a place in the class's list) at a station."""

    fitting: Fitting
    stations: Mapping[str, Station]

    @classmethod
    def of_class(cls, tonight: ClassTonight) -> "StationOptions":
        """For the stations of the class's loops."""
        stations = stations_of([loop.as_term() for loop in tonight.loops])
        fitting = Fitting(tonight.known.picture, variant_priors(stations))
        return cls(fitting, {station.code: station for station in stations})

    def at(self, row: int, station: str) -> tuple[Option, ...]:
        """Every variant of the station, the easiest step first."""
        found = self.stations[station]
        chances = {fit.variant.code: fit.chance for fit in self.fitting.of(row, found)}
        return tuple(
            Option(variant.code, chances[variant.code])
            if variant.code in chances
            else Option(variant.code, None, barred(self.fitting.picture, row, variant))
            for variant in found.variants
        )

    def any_fits(self, row: int, station: str) -> bool:
        """Whether at least one variant fits."""
        return bool(self.fitting.of(row, self.stations[station]))
