"""Ask the engine again: what would it say of one athlete after tries that have not happened?

Each supposed case is a copy of the athlete with a log of its own, so that a hundred cases cost
hardly more than one. A case may be asked on a later day: its whole log is then moved back by as
many days, which is the same question, because only the time between tries and the day asked counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from progress.engine.answers import Readiness
from progress.engine.log import Log
from progress.engine.outcomes import Floats, Ints
from progress.engine.picture import Picture, picture
from progress.engine.readiness import readiness
from progress.engine.replay import Pauses
from progress.engine.terms import Athlete

# Tries of one day are told apart by this much; a hundred of them still fit into the last minutes.
APART = 1e-5


@dataclass(frozen=True)
class FurtherTry:
    """A try that has not happened: columns and result levels as in a Log; ``day`` a venue day."""

    skill: int
    result: int
    coach: int
    day: int


@dataclass(frozen=True)
class Case:
    """Tries in the order they would be made, and the day at whose end the question is asked."""

    tries: tuple[FurtherTry, ...]
    on_day: int


@dataclass(frozen=True)
class Supposing:
    """One athlete as known today, to ask about. ``log`` is the athlete's alone."""

    picture: Picture
    row: int
    log: Log
    age_floors: Mapping[int, float] = field(default_factory=dict)
    pauses: Sequence[tuple[float, float]] = ()

    @property
    def athlete(self) -> Athlete:
        """The athlete as the engine knows them."""
        return self.picture.athletes[self.row]

    def ask(self, cases: Sequence[Case]) -> Picture:
        """What would be known in each case, one row a case; tries must not lie before today."""
        known, codes = self.picture, tuple(str(number) for number in range(len(cases)))
        later = [case.on_day - known.on_day for case in cases]
        pauses: Pauses = {
            code: [(first - days, last - days) for first, last in self.pauses]
            for code, days in zip(codes, later, strict=True)
        }
        return picture(
            known.catalogue,
            [replace(self.athlete, code=code) for code in codes],
            self._logs(cases, codes, later),
            known.parameters,
            known.rules,
            known.on_day,
            pauses,
        )

    def answers(self, supposed: Picture) -> tuple[Readiness, ...]:
        """The suggestion in each case. The age stays that of today."""
        return readiness(supposed, self.age_floors)

    def _logs(self, cases: Sequence[Case], codes: tuple[str, ...], later: list[int]) -> Log:
        """The athlete's own log once for each case, the case's tries behind it."""
        own = self.log
        tries = [one for case in cases for one in case.tries]
        owner = [number for number, case in enumerate(cases) for _ in case.tries]
        when = [own.when - days for days in later]
        when += [_times(case) - days for case, days in zip(cases, later, strict=True)]
        athlete = np.concatenate(
            [np.repeat(np.arange(len(cases)), len(own)), np.array(owner, dtype=np.int64)]
        )
        moments = np.concatenate(when)
        order = np.lexsort((moments, athlete))

        def column(past: Ints, further: list[int]) -> Ints:
            every = np.concatenate([np.tile(past, len(cases)), np.array(further, dtype=np.int64)])
            return every[order]

        return replace(
            own,
            athletes=codes,
            athlete=athlete[order],
            skill=column(own.skill, [one.skill for one in tries]),
            when=moments[order],
            result=column(own.result, [one.result for one in tries]),
            coach=column(own.coach, [one.coach for one in tries]),
            variant=column(own.variant, [-1] * len(tries)),
        )


def _times(case: Case) -> Floats:
    """Late in the evening of each try's day, in the order of the tries."""
    count = len(case.tries)
    days = np.array([one.day for one in case.tries], dtype=np.float64)
    return np.asarray(days + 1.0 - APART * np.arange(count, 0, -1))
