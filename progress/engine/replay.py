"""Run the log through the beliefs, all athletes at once."""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from progress.engine.beliefs import FADES_FASTER, LONG_BREAK, SHARES, Beliefs
from progress.engine.compiled import HAS_COMPILER, LongLog, take_in
from progress.engine.log import UNKNOWN, Log
from progress.engine.outcomes import Floats, Ints
from progress.engine.parameters import Parameters
from progress.engine.terms import Catalogue

AT_A_TIME = 4096  # athletes a chunk: small enough for the processor's cache
WORTH_COMPILING = 50_000  # attempts; the compiler takes some seconds the first time

Pauses = Mapping[str, Sequence[tuple[float, float]]]


@dataclass(frozen=True)
class Replayed:
    """The beliefs at the end, in the order of ``log.athletes``.

    ``log_chance`` has for each attempt of the log the log probability of its result as predicted
    just before it.
    """

    beliefs: Beliefs
    log_chance: Floats


def hardness(log: Log, parameters: Parameters) -> Floats:
    """What ability is up against in each attempt: difficulty + variant offset + severity."""
    severity, offset = _of_coaches_and_variants(log, parameters)
    return np.asarray(parameters.difficulty[log.skill] + offset[log.variant] + severity[log.coach])


def _of_coaches_and_variants(log: Log, parameters: Parameters) -> tuple[Floats, Floats]:
    """Severities and offsets in the log's numbering."""
    assert UNKNOWN == -1, "unknown coaches and variants index the last entry, which is zero"
    severity = np.array([parameters.severity.get(code, 0.0) for code in log.coaches] + [0.0])
    offset = np.array([parameters.variant.get(code, 0.0) for code in log.variants] + [0.0])
    return severity, offset


def replay(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    until: float,
    pauses: Pauses | None = None,
    threads: int = 2,
) -> Replayed:
    """Return the beliefs on venue day ``until`` after every attempt of ``log``.

    ``tiers``: one entry for each of ``log.athletes``. ``pauses``: holds by athlete code as
    (first day, last day). Attempts after ``until`` must not be in the log. A long log goes through
    the compiled loop where the compiler is installed; the answers are the same.
    """
    if HAS_COMPILER and len(log) >= WORTH_COMPILING:
        return _replay_compiled(catalogue, tiers, log, parameters, until, pauses or {}, threads)
    order = np.argsort(-np.diff(log.starts()), kind="stable")
    beliefs = Beliefs.at_start(catalogue, tiers, parameters)
    facts = _Facts.of(log, parameters, until, pauses or {})
    log_chance = np.zeros(len(log))

    def run(chunk: Ints) -> Beliefs:
        part = beliefs.rows(chunk)
        _run(part, facts, chunk, parameters, log_chance)
        return part

    chunks = [order[at : at + AT_A_TIME] for at in range(0, len(order), AT_A_TIME)]
    if len(chunks) > 1 and threads > 1:
        with ThreadPoolExecutor(threads) as pool:
            parts = list(pool.map(run, chunks))
    else:
        parts = [run(chunk) for chunk in chunks]
    return Replayed(_put_back(parts, order, beliefs), log_chance)


def _replay_compiled(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    parameters: Parameters,
    until: float,
    pauses: Pauses,
    threads: int,
) -> Replayed:
    """As ``replay``, each thread taking in about as many attempts as the others."""
    beliefs = Beliefs.at_start(catalogue, tiers, parameters)
    told, log_chance = _long_log(log, parameters, until, pauses), np.zeros(len(log))
    cuts = np.searchsorted(told.starts, np.linspace(0, len(log), threads + 1)[1:-1])
    edges = [0, *(int(cut) for cut in cuts), len(tiers)]

    def run(stretch: range) -> None:
        take_in(beliefs, stretch, told, float(until), log_chance)

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(run, (range(start, end) for start, end in pairwise(edges))))
    return Replayed(beliefs, log_chance)


def _long_log(log: Log, parameters: Parameters, until: float, pauses: Pauses) -> LongLog:
    starts, (severity, offset) = log.starts(), _of_coaches_and_variants(log, parameters)
    extra = last_extra = np.zeros(0)
    if pauses:
        extra, last_extra = _paused(log, starts, *_times_before(log, starts, until), until, pauses)
    rates = np.array([*(parameters.drift * share for share in SHARES), parameters.growth])
    return LongLog(
        starts=starts,
        when=log.when,
        skill=log.skill,
        result=log.result,
        coach=log.coach,
        variant=log.variant,
        extra=extra,
        last_extra=last_extra,
        difficulty=parameters.difficulty,
        help_gap=parameters.help_gap,
        severity=severity,
        offset=offset,
        rates=rates,
    )


def _times_before(log: Log, starts: Ints, until: float) -> tuple[Floats, Floats]:
    """When the athlete's attempt before was made, its own time for the first; and the last of all.

    ``until`` for athletes without attempts.
    """
    before = np.empty(len(log))
    before[1:] = log.when[:-1]
    tried = np.diff(starts) > 0
    first = starts[:-1][tried]
    before[first] = log.when[first]
    last = np.full(len(log.athletes), float(until))
    last[tried] = log.when[starts[1:][tried] - 1]
    return before, last


@dataclass(frozen=True)
class _Facts:
    """What the replay needs to know of each attempt, and of the time after an athlete's last.

    ``table`` has a row an attempt, so that one look-up fetches all of it: skill, result, hardness,
    help gap, days since the athlete's attempt before (none on the same day) and the days of these
    that count for fading.
    """

    starts: Ints
    table: Floats
    last_gap: Floats
    last_faded: Floats

    @classmethod
    def of(cls, log: Log, parameters: Parameters, until: float, pauses: Pauses) -> "_Facts":
        starts = log.starts()
        before, last = _times_before(log, starts, until)
        extra, last_extra = _paused(log, starts, before, last, until, pauses)
        # Ability moves from day to day; within a class nothing is learnt or lost by the clock.
        another_day = np.floor(log.when) > np.floor(before)
        gap, last_gap = (log.when - before) * another_day, np.maximum(until - last, 0.0)
        hard, help_gap = hardness(log, parameters), parameters.help_gap[log.skill]
        faded = (_fading_days(gap) + extra) * another_day
        table = np.column_stack([log.skill, log.result, hard, help_gap, gap, faded])
        return cls(starts, table, last_gap, _fading_days(last_gap) + last_extra)

    def at(self, rows: Ints) -> "_Round":
        """The facts of these attempts."""
        found = self.table.take(rows, axis=0)
        return _Round(found[:, :2].astype(np.int64), found[:, 2:])


@dataclass(frozen=True)
class _Round:
    """One attempt of every athlete who has one left; the columns are those of ``_Facts.table``."""

    counts: Ints
    measures: Floats

    def run(self, beliefs: Beliefs, parameters: Parameters) -> Floats:
        """Let the time before it pass and take the attempt in; its log probability comes back."""
        skill, result = self.counts.T
        hard, help_gap, gap, faded = np.ascontiguousarray(self.measures.T)
        if faded.any():
            _pass_time(beliefs, faded, gap, parameters)
        return beliefs.observe(skill, result, hard, help_gap)


def _fading_days(gap: Floats) -> Floats:
    """Days that count for fading: those beyond a long break count more."""
    return gap + (FADES_FASTER - 1.0) * np.maximum(gap - LONG_BREAK, 0.0)


def _paused(
    log: Log, starts: Ints, before: Floats, last: Floats, until: float, pauses: Pauses
) -> tuple[Floats, Floats]:
    """Extra fading days from holds, for each attempt and for the stretch after the last one."""
    extra, last_extra = np.zeros(len(log)), np.zeros(len(log.athletes))
    place = {code: row for row, code in enumerate(log.athletes)}
    for code, stretches in pauses.items():
        if code not in place:
            continue
        row = place[code]
        mine = slice(starts[row], starts[row + 1])
        for first, final in stretches:
            overlap = np.minimum(log.when[mine], final) - np.maximum(before[mine], first)
            extra[mine] += (FADES_FASTER - 1.0) * np.maximum(overlap, 0.0)
            end = min(until, final) - max(float(last[row]), first)
            last_extra[row] += (FADES_FASTER - 1.0) * max(end, 0.0)
    return extra, last_extra


def _run(
    beliefs: Beliefs, facts: _Facts, chunk: Ints, parameters: Parameters, log_chance: Floats
) -> None:
    """Replay one chunk of athletes, sorted by falling number of attempts, in place."""
    first = facts.starts[chunk]
    counts = facts.starts[chunk + 1] - first
    for number in range(int(counts[0]) if len(counts) else 0):
        active = int(np.searchsorted(-counts, -number, side="left"))
        rows = first[:active] + number
        log_chance[rows] = facts.at(rows).run(beliefs.rows(slice(active)), parameters)
    _pass_time(beliefs, facts.last_faded[chunk], facts.last_gap[chunk], parameters)
    beliefs.settle()


def _pass_time(beliefs: Beliefs, faded: Floats, gap: Floats, parameters: Parameters) -> None:
    general, ladder, skill = (parameters.drift * share * faded for share in SHARES)
    # Nobody is taken to learn once a break has become long.
    beliefs.drift(general, ladder, skill, parameters.growth * np.minimum(gap, LONG_BREAK))


@dataclass(frozen=True)
class Trace:
    """General ability of one athlete at the end of each day with an attempt, in logits."""

    days: Ints
    mean: Floats
    variance: Floats


def trace(
    catalogue: Catalogue,
    tier: int,
    log: Log,
    parameters: Parameters,
    until: float,
    pauses: Pauses | None = None,
) -> Trace:
    """Return how the belief in one athlete's general ability moved, up to venue day ``until``.

    ``log`` must be that athlete's alone. The last entry is ``until`` itself.
    """
    beliefs = Beliefs.at_start(catalogue, [tier], parameters)
    facts = _Facts.of(log, parameters, until, pauses or {})
    seen: dict[int, tuple[float, float]] = {}
    for row in range(len(log)):
        facts.at(np.array([row])).run(beliefs, parameters)
        seen[int(log.when[row])] = (float(beliefs.root_mean[0]), float(beliefs.root_var[0]))
    _pass_time(beliefs, facts.last_faded, facts.last_gap, parameters)
    seen[int(until)] = (float(beliefs.root_mean[0]), float(beliefs.root_var[0]))
    days = np.array(sorted(seen), dtype=np.int64)
    moments = np.array([seen[int(day)] for day in days])
    return Trace(days, moments[:, 0], moments[:, 1])


def _put_back(parts: list[Beliefs], order: Ints, whole: Beliefs) -> Beliefs:
    edges = np.cumsum([0, *(len(part) for part in parts)])
    for part, (start, end) in zip(parts, pairwise(edges), strict=True):
        rows = order[start:end]
        for name, values in vars(part).items():
            if name != "ladder_of":
                getattr(whole, name)[rows] = values
    return whole
