"""Learn a gym's parameters from its own log, starting from tier-based priors.

First the difficulties, help gaps, severities, variant offsets, tier levels and spreads by marginal
likelihood over short spells; then how fast ability wanders and grows, by how well the filter
predicts each attempt before it happens (the prequential likelihood: Dawid 1984, J. R. Stat. Soc.
A 147:278-292). Everything is deterministic and does not depend on the order of the rows.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import minimize

from progress.engine.difficulty import Estimates, Fit, Problem, Spells, fit, reaching_grid
from progress.engine.log import Log
from progress.engine.outcomes import Floats
from progress.engine.parameters import (
    DIFFICULTY_SD,
    DRIFT,
    GROWTH,
    STEP_GAP,
    Parameters,
)
from progress.engine.replay import replay
from progress.engine.terms import Catalogue, Loop, Station

SPELL_DAYS = 42  # short enough that a child hardly changes, long enough to hold several checks
MOST_ATTEMPTS = 30_000  # more than this sharpens nothing a coach could notice
MOST_REPLAYED = 12_000
FEWEST_ATTEMPTS = 30  # below, a log says less than the priors do

# Priors, in logits (logs of logits for gaps and spreads).
LEVEL_SD, GAP_SD, SEVERITY_SD, SPREAD_SD = 1.0, 0.35, 0.3, 0.35
SET_BY_HAND_SD, BY_STEP_SD = 0.25, 0.5
# Drift and spreads are estimates too; leaning to the wider side by this many posterior sds keeps
# the engine from sounding surer than the log allows. With a long log it makes no difference.
CAUTION = 1.0
DRIFT_SD, GROWTH_SD, START_SD, WIDTH_SD = 1.0, 0.008, 0.6, 0.25


@dataclass(frozen=True)
class VariantPrior:
    """Where a variant's offset from its skill is expected, and how loosely."""

    offset: float
    sd: float


def variant_priors(stations: Sequence[Station]) -> dict[str, VariantPrior]:
    """Expected offsets of every variant.

    A difficulty set by hand is trusted closely. Otherwise variants of one station that practise
    the same skill are a step gap apart, the one nearest the base being the skill itself.
    """
    priors: dict[str, VariantPrior] = {}
    for station in stations:
        for variant in station.variants:
            if variant.difficulty is not None:
                priors[variant.code] = VariantPrior(variant.difficulty, SET_BY_HAND_SD)
                continue
            same = [v.step for v in station.variants if v.skill == variant.skill]
            nearest = min(same, key=lambda step: (abs(step), step))
            offset = STEP_GAP * (variant.step - nearest)
            priors[variant.code] = VariantPrior(offset, BY_STEP_SD)
    return priors


def stations_of(loops: Sequence[Loop]) -> tuple[Station, ...]:
    """Every station of the loops once, by code."""
    found = {station.code: station for loop in loops for station in loop.stations}
    return tuple(found[code] for code in sorted(found))


def calibrate(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    variants: Mapping[str, VariantPrior] | None = None,
) -> Parameters:
    """Return the parameters learnt from ``log``; ``tiers`` has one entry for each athlete of it.

    With fewer than FEWEST_ATTEMPTS attempts the tier-based starting values stand.
    """
    priors = dict(variants or {})
    offsets = {code: prior.offset for code, prior in priors.items()}
    start = Parameters.before_any_log(catalogue, offsets)
    if len(log) < FEWEST_ATTEMPTS:
        return start
    fitted = _fit_difficulties(catalogue, tiers, log, start, priors)
    learnt = _as_parameters(catalogue, log, start, fitted)
    return _fit_change(catalogue, tiers, log, learnt)


def thin(log: Log, most: int) -> Log:
    """Whole athletes, evenly spread over the list, with about ``most`` attempts in all."""
    if len(log) <= most:
        return log
    share = most / len(log)
    count = len(log.athletes)
    keep = np.floor(np.arange(1, count + 1) * share) > np.floor(np.arange(count) * share)
    return log.rows(keep[log.athlete])


def cut_spells(catalogue: Catalogue, tiers: Sequence[int], log: Log) -> Spells:
    """Cut every athlete's attempts into spells of SPELL_DAYS from the athlete's first attempt."""
    first = np.zeros(len(log.athletes))
    starts = log.starts()
    tried = np.diff(starts) > 0
    first[tried] = np.floor(log.when[starts[:-1][tried]])
    window = ((log.when - first[log.athlete]) // SPELL_DAYS).astype(np.int64)
    ladder = np.array(catalogue.ladder_of, dtype=np.int64)[log.skill]
    order = np.lexsort((log.when, log.skill, ladder, window, log.athlete))
    pair = np.stack([log.athlete[order], window[order]], axis=1)
    new = np.any(np.diff(pair, axis=0, prepend=pair[:1] - 1) != 0, axis=1)
    place = {tier: number for number, tier in enumerate(catalogue.tiers)}
    group = np.array([place.get(tier, 0) for tier in tiers], dtype=np.int64)
    return Spells(
        spell=np.cumsum(new) - 1,
        ladder=ladder[order],
        skill=log.skill[order],
        coach=log.coach[order],
        variant=log.variant[order],
        result=log.result[order],
        group=group[log.athlete[order][new]],
    )


def _fit_difficulties(
    catalogue: Catalogue,
    tiers: Sequence[int],
    log: Log,
    start: Parameters,
    priors: Mapping[str, VariantPrior],
) -> Fit:
    used = thin(log, MOST_ATTEMPTS)
    spells = cut_spells(catalogue, tiers, used)
    expected = [priors.get(code, VariantPrior(0.0, BY_STEP_SD)) for code in log.variants]
    begin = Estimates(
        difficulty=start.difficulty,
        help_gap=start.help_gap,
        severity=np.zeros(len(log.coaches)),
        variant=np.array([prior.offset for prior in expected]),
        level=np.array([start.level(tier) for tier in catalogue.tiers]),
        spreads=np.array([start.general_sd, start.ladder_sd, start.skill_sd]),
    )
    prior_sd = np.concatenate(
        [
            np.full(len(begin.difficulty), DIFFICULTY_SD),
            np.full(len(begin.help_gap), GAP_SD),
            np.full(len(begin.severity), SEVERITY_SD),
            np.array([prior.sd for prior in expected]),
            np.full(len(begin.level), LEVEL_SD),
            np.full(3, SPREAD_SD),
        ]
    )
    free = np.ones(len(prior_sd), dtype=bool)
    grid = reaching_grid(begin, step=0.3, reach=3.5)
    return fit(Problem(spells, begin, free, prior_sd, grid), tolerance=1e-4)


def _as_parameters(catalogue: Catalogue, log: Log, start: Parameters, fitted: Fit) -> Parameters:
    found = fitted.estimates
    general, ladder, skill = (float(spread) for spread in found.spreads)
    offsets = dict(start.variant)
    offsets.update(zip(log.variants, (float(value) for value in found.variant), strict=True))
    return replace(
        start,
        tier_level=dict(zip(catalogue.tiers, (float(v) for v in found.level), strict=True)),
        difficulty=found.difficulty,
        difficulty_sd=fitted.difficulty_sd,
        help_gap=found.help_gap,
        severity=dict(zip(log.coaches, (float(v) for v in found.severity), strict=True)),
        variant=offsets,
        general_sd=general,
        ladder_sd=ladder,
        skill_sd=skill,
    )


def _fit_change(
    catalogue: Catalogue, tiers: Sequence[int], log: Log, learnt: Parameters
) -> Parameters:
    """Fit drift, growth, how far below their tier's level children start and how alike.

    The spreads found before are averages over the whole log; children who wander apart were more
    alike at the start.
    """
    used = thin(log, MOST_REPLAYED)
    rows = np.unique(used.athlete)
    part = used.of([int(row) for row in rows])
    some_tiers = [tiers[row] for row in rows]
    until = float(used.when[-1] if len(used) == 0 else used.when.max())

    def with_change(change: Floats) -> Parameters:
        levels = {tier: level + change[2] * START_SD for tier, level in learnt.tier_level.items()}
        width = float(np.exp(change[3] * WIDTH_SD))
        return replace(
            learnt,
            tier_level=levels,
            general_sd=learnt.general_sd * width,
            ladder_sd=learnt.ladder_sd * width,
            skill_sd=learnt.skill_sd * width,
            drift=float(DRIFT * np.exp(np.clip(change[0], -3, 3) * DRIFT_SD)),
            growth=float(GROWTH + change[1] * GROWTH_SD),
        )

    def cost(change: Floats) -> float:
        run = replay(catalogue, some_tiers, part, with_change(change), until)
        return float(0.5 * change @ change - run.log_chance.sum())

    simplex = np.vstack([np.zeros(4), 0.5 * np.eye(4)])
    found = minimize(
        cost,
        np.zeros(4),
        method="Nelder-Mead",
        options={"initial_simplex": simplex, "maxfev": 70, "xatol": 0.05, "fatol": 0.3},
    )
    return with_change(found.x + CAUTION * _loose(cost, found.x))


def _loose(cost: Callable[[Floats], float], at: Floats, step: float = 0.3) -> Floats:
    """How far drift and width (first and last entry) could move, one posterior sd each."""
    loose = np.zeros(len(at))
    for entry in (0, len(at) - 1):
        shift = np.zeros(len(at))
        shift[entry] = step
        curvature = (cost(at + shift) - 2 * cost(at) + cost(at - shift)) / step**2
        loose[entry] = 1.0 / np.sqrt(max(curvature, 1.0))
    return loose
