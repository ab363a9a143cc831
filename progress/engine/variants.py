"""Which variants of a station suit one athlete today, and how well.

Only variants whose needs are held come into question; among them the one whose chance of a clean
try is nearest the target. The target band is a design choice that a coach can override: the often
quoted 85% was derived for two-choice tasks with a guessing floor (Wilson et al. 2019, Nat.
Commun. 10:4646), and studies of children's motor practice disagree on how hard practice should be.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from progress.engine.calibration import VariantPrior
from progress.engine.outcomes import Floats, chance_of_clean
from progress.engine.picture import Picture
from progress.engine.stops import barred
from progress.engine.terms import Station, Variant

FAR_OFF = 1.0  # cost added outside the band, per unit of chance


def in_words(chance: float) -> str:
    """A chance as people say it; never "always" and never "never"."""
    tenths = round(chance * 10)
    if tenths >= 10:
        return "nearly every try clean"
    return f"about {tenths} in 10 clean" if tenths >= 1 else "hardly any try clean"


@dataclass(frozen=True)
class Fit:
    """A variant nothing speaks against: the chance of a clean try, and how far from the target."""

    variant: Variant
    chance: float
    cost: float


@dataclass(frozen=True)
class Fitting:
    """Looks up what fits whom. ``priors`` stand in for variants newer than the calibration."""

    picture: Picture
    priors: Mapping[str, VariantPrior]
    _chances: dict[tuple[str, float], Floats] = field(default_factory=dict, repr=False)
    _known: dict[tuple[int, str], tuple[Fit, ...]] = field(default_factory=dict, repr=False)

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

    def of(self, row: int, station: Station) -> tuple[Fit, ...]:
        """Variants nothing speaks against, the most likely clean first."""
        key = (row, station.code)
        if key not in self._known:
            found = [
                Fit(variant, chance, self._cost(row, chance))
                for variant in station.variants
                if not barred(self.picture, row, variant)
                for chance in [self.chance(row, variant)]
            ]
            found.sort(key=lambda fit: (-fit.chance, fit.variant.step, fit.variant.code))
            self._known[key] = tuple(found)
        return self._known[key]

    def best(self, row: int, station: Station) -> Fit:
        """The variant nearest the target; ValueError where nothing fits."""
        return min(self.of(row, station), key=lambda fit: fit.cost)

    def band(self, row: int) -> tuple[float, float]:
        """The chances aimed at for this athlete, from the athlete or from the rules."""
        rules = self.picture.rules
        return self.picture.athletes[row].target or (rules.target_low, rules.target_high)

    def why_none(self, row: int, station: Station) -> str:
        """Why nothing fits: the reason at the easiest variant speaks for the station."""
        if not station.variants:
            return "no variant set up"
        easiest = min(station.variants, key=lambda variant: (variant.step, variant.code))
        return barred(self.picture, row, easiest)

    def why(self, row: int, station: Station, picked: Fit) -> str:
        """Why this variant, in a few words, where no limit came between."""
        low, high = self.band(row)
        fits, said = self.of(row, station), self.said(row, picked)
        if self.picture.athletes[row].easing_back:
            alone = self.best(row, station) == picked  # what the log alone would say
            return f"easing back: {'the easiest that fits' if alone else 'a step easier'}, {said}"
        if picked.chance < low:
            first = picked == fits[0]
            return f"{'easiest that fits' if first else 'nearest to the target'}, {said}"
        if picked.chance > high:
            last = picked == fits[-1]
            return f"{'hardest whose needs are held' if last else 'nearest to the target'}, {said}"
        return f"in the target band, {said}"

    def said(self, row: int, picked: Fit) -> str:
        """The chance in words, and to stay close where it is below the band."""
        low, _ = self.band(row)
        return in_words(picked.chance) + (": stay close" if picked.chance < low else "")

    def _cost(self, row: int, chance: float) -> float:
        low, high = self.band(row)
        own = self.picture.athletes[row].target is not None
        centre = (low + high) / 2 if own else self.picture.rules.target_centre
        outside = max(low - chance, chance - high, 0.0)
        return abs(chance - centre) + FAR_OFF * outside
