"""How much each athlete gained over a window of time, and how surely that is known.

The engine's beliefs follow ability from day to day and expect growth, so they are slow to say that
there is none. Here the gain over the window is a number of its own with a wide prior: what was
known on the window's first day, and the attempts made in it, must tell it by themselves.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.beliefs import Beliefs
from progress.engine.evidence import Flags
from progress.engine.log import Log
from progress.engine.outcomes import Floats, Ints, learn
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses, hardness, replay
from progress.engine.terms import Catalogue

# Prior sd of the gain over six weeks in logits, several times what children usually gain; longer
# windows widen it by the root of their length. Modelling choices, not measurements.
GAIN_SD, LADDER_GAIN_SD = 1.0, 0.5
PRIOR_DAYS = 42
AT_A_TIME = 256  # athletes; their covariances are held at once


@dataclass(frozen=True)
class Gains:
    """Gain in ability over the last ``window_days``, in logits; one entry or row an athlete.

    ``mean`` and ``sd`` are over all, the mean of the ladders tried in the window, each counting
    once; ``ladder_mean`` and ``ladder_sd`` by ladder (columns as ``catalogue.ladders``).
    ``attempts`` and ``ladder_attempts`` were made within the window. ``expected`` is the gain the
    gym's growth leads to expect and ``prior_sd`` how loosely, over all and then by ladder, shape
    (athletes, 1 + ladders); without attempts in the window they are the answer.
    """

    window_days: int
    mean: Floats
    sd: Floats
    attempts: Ints
    ladder_mean: Floats
    ladder_sd: Floats
    ladder_attempts: Ints
    expected: float
    prior_sd: Floats


def gains(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    on_day: int,
    window_days: int = PRIOR_DAYS,
    pauses: Pauses | None = None,
) -> Gains:
    """The gain of every athlete over the ``window_days`` that end with venue day ``on_day``.

    Ability is taken to change evenly through the window, the same for all skills of a ladder. An
    athlete's abilities on the first day are those believed from earlier attempts; the doubt about
    difficulties is part of them. ValueError for no window or attempts later than ``on_day``.
    """
    if window_days < 1 or (len(log) and log.when.max() >= on_day + 1):
        raise ValueError("a window has a day at least, and a log ends with the day asked")
    first = float(on_day + 1 - window_days)
    within = log.rows(log.when >= first)
    known = replay(catalogue, tiers, log.before(first), parameters, first, pauses).beliefs
    question = _Window.of(catalogue, within, parameters, first, window_days)
    order = np.argsort(-np.diff(within.starts()), kind="stable")
    counts = _attempts_by_ladder(catalogue, within)
    parts, shape = _parts(counts > 0), (len(order), 1 + counts.shape[1])
    mean, variance = np.zeros(shape), np.zeros(shape)
    for at in range(0, len(order), AT_A_TIME):
        chunk = order[at : at + AT_A_TIME]
        mean[chunk], variance[chunk] = question.answer(known.rows(chunk), chunk, parts[chunk])
    sd = np.sqrt(variance)
    return Gains(
        window_days=window_days,
        mean=mean[:, 0],
        sd=sd[:, 0],
        attempts=counts.sum(axis=1),
        ladder_mean=mean[:, 1:],
        ladder_sd=sd[:, 1:],
        ladder_attempts=counts,
        expected=question.expected,
        prior_sd=np.sqrt(np.square(parts * question.gain_sds).sum(axis=2)),
    )


@dataclass(frozen=True)
class _Window:
    """The attempts of a window and the prior of what was gained in it.

    The state of an athlete is its ability at every skill on the first day, the general gain, and
    each ladder's own gain beside that. An attempt a share ``u`` into the window sees the skill
    plus ``u`` times both gains.
    """

    log: Log
    starts: Ints
    ladder_of: Ints
    elapsed: Floats
    hard: Floats
    help_gap: Floats
    difficulty_var: Floats
    ladders: int
    expected: float
    gain_sds: Floats

    @classmethod
    def of(
        cls, catalogue: Catalogue, log: Log, parameters: Parameters, first: float, days: int
    ) -> "_Window":
        longer = float(np.sqrt(days / PRIOR_DAYS))
        return cls(
            log=log,
            starts=log.starts(),
            ladder_of=np.array(catalogue.ladder_of, dtype=np.int64),
            elapsed=np.floor(log.when - first) / days,
            hard=hardness(log, parameters),
            help_gap=parameters.help_gap[log.skill],
            difficulty_var=parameters.difficulty_sd**2,
            ladders=len(catalogue.ladders),
            expected=float(parameters.growth * days),
            gain_sds=longer * np.array([GAIN_SD] + [LADDER_GAIN_SD] * len(catalogue.ladders)),
        )

    def answer(self, known: Beliefs, chunk: Ints, parts: Floats) -> tuple[Floats, Floats]:
        """Mean and variance of the gain over all and on every ladder, (athletes, 1 + ladders).

        ``chunk``: the athletes' places, those with the most attempts in the window first;
        ``parts``: see ``_parts``, in the same order.
        """
        mean, cover = self._start(known)
        counts = self.starts[chunk + 1] - self.starts[chunk]
        for number in range(int(counts[0])):
            active = int(np.searchsorted(-counts, -number, side="left"))
            rows = self.starts[chunk[:active]] + number
            self._take_in(mean[:active], cover[:active], rows)
        gained = slice(len(self.ladder_of), None)
        return (
            np.einsum("apq,aq->ap", parts, mean[:, gained]),
            np.einsum("apq,aqr,apr->ap", parts, cover[:, gained, gained], parts),
        )

    def _start(self, known: Beliefs) -> tuple[Floats, Floats]:
        skills, size = len(self.ladder_of), len(self.ladder_of) + 1 + self.ladders
        mean, cover = np.zeros((len(known), size)), np.zeros((len(known), size, size))
        mean[:, :skills], mean[:, skills] = known.abilities()[0], self.expected
        for row in range(len(known)):
            cover[row, :skills, :skills] = known.covariance(row) + np.diag(self.difficulty_var)
        gained = np.arange(skills, size)
        cover[:, gained, gained] = self.gain_sds**2
        return mean, cover

    def _take_in(self, mean: Floats, cover: Floats, rows: Ints) -> None:
        """Learn from one attempt of every athlete by moment matching, in place."""
        each, skill, part = np.arange(len(rows)), self.log.skill[rows], self.elapsed[rows]
        general = np.full(len(rows), len(self.ladder_of))
        ladder = general + 1 + self.ladder_of[skill]

        def seen(values: Floats) -> Floats:
            gained = values[each, general] + values[each, ladder]
            return np.asarray(values[each, skill] + (part * gained.T).T)

        with_all = seen(cover)
        before, variance = seen(mean) - self.hard[rows], seen(with_all)
        result, gap = self.log.result[rows], self.help_gap[rows]
        _, after, left = learn(before, variance, result, gap)
        mean += with_all * ((after - before) / variance)[:, None]
        shrink = ((variance - left) / variance**2)[:, None, None]
        cover -= shrink * with_all[:, :, None] * with_all[:, None, :]


def _attempts_by_ladder(catalogue: Catalogue, log: Log) -> Ints:
    """Number of attempts, shape (athletes, ladders)."""
    counts = np.zeros((len(log.athletes), len(catalogue.ladders)), dtype=np.int64)
    ladder_of = np.array(catalogue.ladder_of, dtype=np.int64)
    np.add.at(counts, (log.athlete, ladder_of[log.skill]), 1)
    return counts


def _parts(ladders_tried: Flags) -> Floats:
    """What is asked of general and own gains, shape (athletes, 1 + ladders, 1 + ladders).

    First the mean whole gain of the ladders tried (general gain alone if there are none), then
    the whole gain of each ladder.
    """
    size = ladders_tried.shape[1]
    parts = np.zeros((len(ladders_tried), 1 + size, 1 + size))
    parts[:, :, 0] = 1.0
    tried = np.maximum(ladders_tried.sum(axis=1, keepdims=True), 1)
    parts[:, 0, 1:] = ladders_tried / tried
    parts[:, 1:, 1:] = np.eye(size)
    return parts
