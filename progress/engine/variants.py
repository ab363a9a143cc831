"""Which variant of each station suits each athlete today, and why.

Only variants whose needs are held come into question; among them the one whose chance of a clean
try is nearest the target. The target band is a design choice that a coach can override: the often
quoted 85% was derived for two-choice tasks with a guessing floor (Wilson et al. 2019, Nat.
Commun. 10:4646), and studies of children's motor practice disagree on how hard practice should be.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from progress.engine.answers import Suggestion
from progress.engine.assignment import Option, Pick, assign
from progress.engine.calibration import VariantPrior, stations_of, variant_priors
from progress.engine.outcomes import Floats, chance_of_clean
from progress.engine.picture import Picture
from progress.engine.terms import Loop, Station, Variant

FAR_OFF = 1.0  # cost added outside the band, per unit of chance


@dataclass(frozen=True)
class Limits:
    """What the hall can carry in one class; None means no limit.

    ``spotters``: adults free to stand at stations of a loop. ``count_places``: whether lanes and
    places per variant count, as they do for a group on a loop but not for a list of children who
    never meet.
    """

    spotters: int | None = None
    count_places: bool = True


def suggest(
    picture: Picture, rows: Sequence[int], loops: Sequence[Loop], limits: Limits | None = None
) -> tuple[Suggestion, ...]:
    """Suggest a variant for each athlete of ``rows`` at each station of each loop.

    Ordered by loop, athlete (as in ``rows``) and station. Where nothing fits, ``variant`` is None
    and the reason says what is missing. The plan of a loop minimises the summed distance from the
    target under ``limits``.
    """
    choice = _Choice(picture, limits or Limits(), variant_priors(stations_of(loops)))
    found: list[Suggestion] = []
    for loop in loops:
        found.extend(choice.for_loop(loop, rows))
    return tuple(found)


def barred(picture: Picture, row: int, variant: Variant) -> str:
    """Why this athlete may not be sent to this variant today; empty where nothing speaks against.

    An empty answer is not an all-clear: the coach on the floor decides.
    """
    athlete, catalogue = picture.athletes[row], picture.catalogue
    skill = catalogue.skill(variant.skill)
    if athlete.held:
        return "on hold: ask the lead"
    if skill.ladder in athlete.held_ladders:
        return "this ladder is on hold: ask the lead"
    for youngest in (variant.minimum_age, skill.minimum_age):
        if youngest is not None and athlete.age is not None and athlete.age < youngest:
            return f"for {youngest:g} years and up"
    missing = [
        code
        for code in (*skill.needs, *variant.needs)
        if not picture.held[row, catalogue.position[code]]
    ]
    if missing:
        return "not yet: needs " + _named(picture, missing)
    return _too_high(picture, row, variant)


def in_words(chance: float) -> str:
    """A chance as people say it; never "always" and never "never"."""
    tenths = round(chance * 10)
    if tenths >= 10:
        return "nearly every try clean"
    return f"about {tenths} in 10 clean" if tenths >= 1 else "hardly any try clean"


def _too_high(picture: Picture, row: int, variant: Variant) -> str:
    """Why the height rules bar the variant; a rule that cannot be checked bars it."""
    catalogue = picture.catalogue
    for rule in picture.rules.height_rules:
        if variant.height_m is None or variant.height_m <= rule.above_m:
            continue
        asked = [code for code in rule.needs if code in catalogue.position]
        if len(asked) < len(rule.needs):
            level = catalogue.skill(variant.skill).tier
            asked += [s.code for s in catalogue.skills if s.gate and s.tier <= level]
            if not asked:
                return f"feet above {rule.above_m:g} m and no safety skills to check it by"
        missing = [code for code in asked if not picture.held[row, catalogue.position[code]]]
        if missing:
            return f"feet above {rule.above_m:g} m need {_named(picture, missing)}"
    return ""


def _named(picture: Picture, codes: Sequence[str]) -> str:
    names = [picture.catalogue.skill(code).name or code for code in dict.fromkeys(codes)]
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


@dataclass(frozen=True)
class _Choice:
    picture: Picture
    limits: Limits
    priors: Mapping[str, VariantPrior]

    def for_loop(self, loop: Loop, rows: Sequence[int]) -> list[Suggestion]:
        """Plan one loop: a pick for every athlete and station, in that order."""
        options: list[Option] = []
        reasons: dict[tuple[int, str], str] = {}
        for station in loop.stations:
            for row in rows:
                fitting = self._fitting(row, station)
                reasons[row, station.code] = self._why_none(row, station) if not fitting else ""
                options.extend(self._options(row, station, fitting))
        picks = assign(options, self._places(loop), self.limits.spotters)
        return [
            self._suggestion(row, loop, station, picks, reasons)
            for row in rows
            for station in loop.stations
        ]

    @cached_property
    def _chances(self) -> dict[tuple[str, float], Floats]:
        return {}

    def chance(self, row: int, variant: Variant) -> float:
        """Chance of a clean try on the variant: its skill's, moved by the variant's offset.

        A variant newer than the calibration is as hard as its step and its makers say.
        """
        column = self.picture.catalogue.position[variant.skill]
        learnt = self.picture.parameters.variant
        offset = learnt.get(variant.code, self.priors[variant.code].offset)
        key = (variant.skill, offset)
        if key not in self._chances:
            mean = self.picture.mean[:, column] - offset
            self._chances[key] = chance_of_clean(mean, self.picture.variance[:, column])
        return float(self._chances[key][row])

    def _fitting(self, row: int, station: Station) -> list[tuple[Variant, float]]:
        """Variants nothing speaks against with their chances, the most likely clean first."""
        fitting = [
            (variant, self.chance(row, variant))
            for variant in station.variants
            if not barred(self.picture, row, variant)
        ]
        return sorted(fitting, key=lambda pair: (-pair[1], pair[0].step, pair[0].code))

    def _options(
        self, row: int, station: Station, fitting: list[tuple[Variant, float]]
    ) -> list[Option]:
        costs = [self._cost(row, chance) for _, chance in fitting]
        if self.picture.athletes[row].easing_back and costs:
            # One step easier than the log alone would say: what lies above the step is not offered.
            best = max(costs.index(min(costs)) - 1, 0)
            fitting, costs = fitting[: best + 1], [*costs[:best], 0.0]
        return [
            Option(row, station.code, variant.code, cost, variant.spotter)
            for (variant, _), cost in zip(fitting, costs, strict=True)
        ]

    def _cost(self, row: int, chance: float) -> float:
        low, high = self._band(row)
        rules = self.picture.rules
        own = self.picture.athletes[row].target is not None
        centre = (low + high) / 2 if own else rules.target_centre
        outside = max(low - chance, chance - high, 0.0)
        return abs(chance - centre) + FAR_OFF * outside

    def _band(self, row: int) -> tuple[float, float]:
        rules = self.picture.rules
        return self.picture.athletes[row].target or (rules.target_low, rules.target_high)

    def _places(self, loop: Loop) -> dict[tuple[str, str], int]:
        if not self.limits.count_places:
            return {}
        per_lane = self.picture.rules.children_per_lane
        return {
            (station.code, variant.code): variant.lanes * per_lane
            if variant.places is None
            else variant.places
            for station in loop.stations
            for variant in station.variants
        }

    def _suggestion(
        self,
        row: int,
        loop: Loop,
        station: Station,
        picks: Mapping[tuple[int, str], Pick],
        reasons: Mapping[tuple[int, str], str],
    ) -> Suggestion:
        athlete = self.picture.athletes[row].code
        pick = picks.get((row, station.code))
        if pick is None or pick.code is None:
            why = reasons[row, station.code] or "every variant that fits is full: ask the coach"
            return Suggestion(athlete, loop.code, station.code, None, None, why)
        variant = next(v for v in station.variants if v.code == pick.code)
        chance = self.chance(row, variant)
        why = self._why(row, station, chance, pick)
        return Suggestion(athlete, loop.code, station.code, variant.code, chance, why)

    def _why(self, row: int, station: Station, chance: float, pick: Pick) -> str:
        low, high = self._band(row)
        fitting = self._fitting(row, station)
        said = in_words(chance) + (": stay close" if chance < low else "")
        nearest = "nearest to the target"
        if self.picture.athletes[row].easing_back:
            costs = [self._cost(row, one) for _, one in fitting]
            alone = fitting[costs.index(min(costs))][0].code  # what the log alone would say
            easier = "the easiest that fits" if pick.code == alone else "a step easier"
            return f"easing back: {easier}, {said}"
        if pick.moved:
            return f"first choice is full, {said}"
        if chance < low:
            return f"{'easiest that fits' if pick.code == fitting[0][0].code else nearest}, {said}"
        if chance > high:
            hardest = pick.code == fitting[-1][0].code
            return f"{'hardest whose needs are held' if hardest else nearest}, {said}"
        return f"in the target band, {said}"

    def _why_none(self, row: int, station: Station) -> str:
        """The reason at the easiest variant speaks for the station."""
        if not station.variants:
            return "no variant set up"
        easiest = min(station.variants, key=lambda variant: (variant.step, variant.code))
        return barred(self.picture, row, easiest)
