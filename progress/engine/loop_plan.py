"""One loop for one group: a variant for every athlete at every station, within the hall's limits.

What a coach has chosen by hand stays as it is and the rest is planned around it. A choice that a
need, a height rule, an age or a hold speaks against is set aside and said so.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from progress.engine.answers import Suggestion
from progress.engine.assignment import TURNED_AWAY, Option, Pick, assign
from progress.engine.calibration import stations_of, variant_priors
from progress.engine.picture import Picture
from progress.engine.shortfalls import Shortfall, shortfalls
from progress.engine.stops import barred
from progress.engine.terms import Loop, Station, Variant
from progress.engine.variants import Fit, Fitting

SITS_OUT = ""  # chosen in place of a variant: the athlete leaves this station out


@dataclass(frozen=True)
class Limits:
    """What the hall can carry in one class; None means no limit.

    ``spotters``: adults free to stand at stations of a loop. ``count_places``: whether lanes and
    places per variant count, as they do for a group on a loop but not for a list of children who
    never meet.
    """

    spotters: int | None = None
    count_places: bool = True


@dataclass(frozen=True)
class Choices:
    """What a coach has fixed: the loop an athlete (row) starts on, and variants by (row, station).

    A variant of SITS_OUT leaves the station out.
    """

    starts: Mapping[int, str] = field(default_factory=dict)
    variants: Mapping[tuple[int, str], str] = field(default_factory=dict)


@dataclass(frozen=True)
class LoopPlan:
    """``suggestions`` by athlete as given, then station; ``shortfalls`` where a limit was short."""

    suggestions: tuple[Suggestion, ...]
    shortfalls: tuple[Shortfall, ...]


def suggest(
    picture: Picture,
    rows: Sequence[int],
    loops: Sequence[Loop],
    limits: Limits | None = None,
    choices: Choices | None = None,
) -> tuple[Suggestion, ...]:
    """Suggest a variant for each athlete of ``rows`` at each station of each loop.

    Ordered by loop, athlete (as in ``rows``) and station. Where nothing fits, ``variant`` is None
    and the reason says what is missing. The plan of a loop minimises the summed distance from the
    target under ``limits``.
    """
    plans = plan_loops(picture, rows, loops, limits or Limits(), choices or Choices())
    return tuple(suggestion for plan in plans for suggestion in plan.suggestions)


def plan_loops(
    picture: Picture,
    rows: Sequence[int],
    loops: Sequence[Loop],
    limits: Limits,
    choices: Choices,
) -> list[LoopPlan]:
    """Plan each loop by itself, as a group goes from one to the next."""
    fitting = Fitting(picture, variant_priors(stations_of(loops)))
    return [_Planner(fitting, limits, choices, loop).plan(rows) for loop in loops]


@dataclass(frozen=True)
class _Planner:
    fitting: Fitting
    limits: Limits
    choices: Choices
    loop: Loop

    def plan(self, rows: Sequence[int]) -> LoopPlan:
        options = [
            option
            for station in self.loop.stations
            for row in rows
            for option in self._options(row, station)
        ]
        places, spotters = self._places(), self.limits.spotters
        picks = assign(options, places, spotters)
        short = shortfalls(self.loop.code, options, places, spotters, picks)
        return LoopPlan(
            tuple(
                self._suggestion(row, station, picks.get((row, station.code)), options)
                for row in rows
                for station in self.loop.stations
            ),
            short,
        )

    def _chosen(self, row: int, station: Station) -> Variant | None:
        """The variant chosen by hand if there is one here and nothing speaks against it."""
        code = self.choices.variants.get((row, station.code))
        variant = next((v for v in station.variants if v.code == code), None)
        if variant is None or barred(self.fitting.picture, row, variant):
            return None
        return variant

    def _sits_out(self, row: int, station: Station) -> bool:
        return self.choices.variants.get((row, station.code)) == SITS_OUT

    def _options(self, row: int, station: Station) -> list[Option]:
        if self._sits_out(row, station):
            return []
        chosen = self._chosen(row, station)
        if chosen is not None:
            # Whoever was chosen by hand comes first where places run short.
            return [Option(row, station.code, chosen.code, -TURNED_AWAY, chosen.spotter)]
        fits = list(self.fitting.of(row, station))
        costs = [fit.cost for fit in fits]
        if self.fitting.picture.athletes[row].easing_back and costs:
            # One step easier than the log alone would say: what lies above the step is not offered.
            best = max(costs.index(min(costs)) - 1, 0)
            fits, costs = fits[: best + 1], [*costs[:best], 0.0]
        return [
            Option(row, station.code, fit.variant.code, cost, fit.variant.spotter)
            for fit, cost in zip(fits, costs, strict=True)
        ]

    def _places(self) -> dict[tuple[str, str], int]:
        if not self.limits.count_places:
            return {}
        per_lane = self.fitting.picture.rules.children_per_lane
        return {
            (station.code, variant.code): variant.lanes * per_lane
            if variant.places is None
            else variant.places
            for station in self.loop.stations
            for variant in station.variants
        }

    def _suggestion(
        self, row: int, station: Station, pick: Pick | None, options: Sequence[Option]
    ) -> Suggestion:
        athlete = self.fitting.picture.athletes[row].code
        if pick is None or pick.code is None:
            why = self._why_nothing(row, station)
            return Suggestion(athlete, self.loop.code, station.code, None, None, why)
        variant = next(v for v in station.variants if v.code == pick.code)
        fit = next(fit for fit in self.fitting.of(row, station) if fit.variant == variant)
        why = self._why(row, station, fit, pick, options)
        return Suggestion(athlete, self.loop.code, station.code, variant.code, fit.chance, why)

    def _why_nothing(self, row: int, station: Station) -> str:
        if self._sits_out(row, station):
            return "left out by the coach's choice"
        if not self.fitting.of(row, station):
            return self.fitting.why_none(row, station)
        if self._chosen(row, station):
            return "chosen by hand, but there is no place left: ask the coach"
        return "every variant that fits is full: ask the coach"

    def _why(
        self, row: int, station: Station, fit: Fit, pick: Pick, options: Sequence[Option]
    ) -> str:
        code = self.choices.variants.get((row, station.code))
        if code == fit.variant.code:
            return f"chosen by hand, {self.fitting.said(row, fit)}"
        why = self.fitting.why(row, station, fit)
        if pick.moved:
            mine = [o for o in options if (o.row, o.station) == (row, station.code)]
            wanted = min(mine, key=lambda option: option.cost)
            no_adult = wanted.spotter and not fit.variant.spotter and pick.no_spotter
            short = "no adult is free for the first choice" if no_adult else "first choice is full"
            why = f"{short}, {self.fitting.said(row, fit)}"
        chosen = next((v for v in station.variants if v.code == code), None)
        if chosen is not None:
            against = barred(self.fitting.picture, row, chosen)
            return f"the coach's choice is set aside ({against}); {why}"
        return why
