"""The attempt log as plain arrays, in an order that does not depend on how it arrived."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from progress.engine.outcomes import Floats, Ints
from progress.engine.terms import Catalogue

UNKNOWN = -1


@dataclass(frozen=True)
class Log:
    """Attempts sorted by athlete, then time; all arrays have one entry an attempt.

    ``athlete`` indexes ``athletes``; ``skill`` the catalogue; ``coach`` and ``variant`` index
    ``coaches`` and ``variants`` or are -1 where unknown; ``result`` is 0 miss, 1 assisted,
    2 clean. ``when`` is in days at the venue: whole part ``date.toordinal``, the rest time of day.
    """

    athletes: tuple[str, ...]
    coaches: tuple[str, ...]
    variants: tuple[str, ...]
    athlete: Ints
    skill: Ints
    when: Floats
    result: Ints
    coach: Ints
    variant: Ints

    def __len__(self) -> int:
        return len(self.athlete)

    @property
    def day(self) -> Ints:
        """Whole venue days (``date.toordinal``)."""
        return np.floor(self.when).astype(np.int64)

    def rows(self, keep: "np.ndarray[tuple[int], np.dtype[np.bool_]]") -> "Log":
        """The log with only the attempts marked in ``keep``; names stay."""
        return self._with_order(np.flatnonzero(keep))

    def before(self, when: float) -> "Log":
        """Attempts made before the venue day and time ``when``."""
        return self.rows(self.when < when)

    def of(self, rows: Sequence[int]) -> "Log":
        """The log of only the athletes at these places (rising), renumbered."""
        chosen = np.asarray(rows, dtype=np.int64)
        part = self.rows(np.isin(self.athlete, chosen))
        return replace(
            part,
            athletes=tuple(self.athletes[row] for row in rows),
            athlete=np.searchsorted(chosen, part.athlete).astype(np.int64),
        )

    def starts(self) -> Ints:
        """For each athlete the first row, and a last entry with the number of rows."""
        return np.searchsorted(self.athlete, np.arange(len(self.athletes) + 1)).astype(np.int64)

    def _with_order(self, order: Ints) -> "Log":
        return replace(
            self,
            athlete=self.athlete[order],
            skill=self.skill[order],
            when=self.when[order],
            result=self.result[order],
            coach=self.coach[order],
            variant=self.variant[order],
        )


def gather(
    catalogue: Catalogue,
    athletes: Sequence[str],
    columns: Sequence[Sequence[object]],
) -> Log:
    """Build a Log from six columns: athlete, skill, when, result level, coach, variant.

    Athlete, skill, coach and variant are codes; an empty coach or variant is unknown. Attempts of
    athletes not in ``athletes`` raise KeyError, as do skills outside the catalogue. Ties in time
    are ordered by what was tried and how it went, misses last: shuffled rows give the same log, and
    a file that knows only the day never hides a miss behind clean tries of that day.
    """
    who, skills, when, results, coaches, variants = columns
    coach_names, variant_names = _names(coaches), _names(variants)
    athlete_place = {code: place for place, code in enumerate(athletes)}
    coach_place = {code: place for place, code in enumerate(coach_names)}
    variant_place = {code: place for place, code in enumerate(variant_names)}
    log = Log(
        tuple(athletes),
        coach_names,
        variant_names,
        _places(who, athlete_place),
        _places(skills, catalogue.position),
        np.asarray(when, dtype=np.float64),
        np.asarray(results, dtype=np.int64),
        _places(coaches, coach_place, UNKNOWN),
        _places(variants, variant_place, UNKNOWN),
    )
    keys = (log.coach, log.variant, -log.result, log.skill, log.when, log.athlete)
    return log._with_order(np.lexsort(keys))


def _names(codes: Sequence[object]) -> tuple[str, ...]:
    return tuple(sorted({str(code) for code in codes if code}))


def _places(codes: Sequence[object], place: dict[str, int], missing: int | None = None) -> Ints:
    if missing is None:
        found = (place[str(code)] for code in codes)
    else:
        found = (place[str(code)] if code else missing for code in codes)
    return np.fromiter(found, dtype=np.int64, count=len(codes))
