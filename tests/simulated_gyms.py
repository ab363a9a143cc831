"""Made-up gyms whose true chances are known, to hold the engine's answers against the truth.

``Habits`` of the gym default to what the engine assumes; each further habit breaks an assumption.
Everything follows from the seed.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, logit

from progress.engine.beliefs import SHARES
from progress.engine.log import Log, gather
from progress.engine.outcomes import ASSISTED, CLEAN, MISS
from progress.engine.terms import Athlete, Catalogue, Skill

Floats = NDArray[np.float64]
FIRST_DAY = 738_000  # a Monday; weeks count from here
CLASS_TIME = 0.7  # of the day
TRY_TIME = 0.0005  # between two tries
TIER_GAP = 1.5


@dataclass(frozen=True)
class Habits:
    """How a gym trains, checks and writes down. Rates are by the day, spreads in logits."""

    athletes: int = 200
    weeks: int = 30
    ladders: int = 8
    tiers: int = 4
    gates: int = 2  # ladders whose skills are gates
    coaches: int = 4
    seen_weekly: float = 0.5  # chance that an athlete is checked in a week
    skills_a_check: int = 2
    most_tries: int = 3
    general_sd: float = 1.0
    ladder_sd: float = 0.6
    skill_sd: float = 0.6
    drift: float = 0.006
    growth: float = 0.006
    severity_sd: float = 0.3
    difficulty_sd: float = 0.5
    edge: float = 0.2  # of an athlete's mean ability over the mean difficulty of the own tier
    # What the engine does not assume.
    luck: float = 0.0  # share of clean results that come whatever the ability
    plateaus: bool = False  # growth comes in spurts with long rests between
    holiday: float = 0.0  # logits forgotten in a break of seven weeks
    misses_lost: float = 0.0  # share of tries short of clean that nobody writes down
    move_ups: bool = False  # children move up during the log


@dataclass(frozen=True)
class SimulatedGym:
    """A gym's log and the truth behind it.

    ``chance``: true probability of a clean try with an average coach on the last day, shape
    (athletes, skills); ``ability``: the same in logits without luck. ``difficulty``, ``help_gap``
    by skill, ``severity`` by coach. ``true_clean``, one an attempt of ``log``: true probability
    of clean given that the try was written down. ``tiers``: where athletes stand on the last day;
    ``moves``: (first day in the new tier, athlete, tier left), oldest first.
    """

    catalogue: Catalogue
    log: Log
    tiers: tuple[int, ...]
    on_day: int
    chance: Floats
    ability: Floats
    difficulty: Floats
    help_gap: Floats
    severity: dict[str, float]
    true_clean: Floats
    moves: tuple[tuple[int, int, int], ...] = ()

    def tiers_on(self, day: int) -> tuple[int, ...]:
        """Where athletes stood on venue day ``day``."""
        tiers = list(self.tiers)
        for since, row, left in reversed(self.moves):
            if since > day:
                tiers[row] = left
        return tuple(tiers)

    @property
    def athletes(self) -> tuple[Athlete, ...]:
        """The athletes as the engine takes them."""
        return tuple(
            Athlete(code, tier) for code, tier in zip(self.log.athletes, self.tiers, strict=True)
        )

    @cached_property
    def truly_ready(self) -> NDArray[np.bool_]:
        """Whether every required skill of the athlete's tier is at its standard."""
        skills = self.catalogue.skills
        return np.array(
            [
                all(self.chance[row, c] >= skills[c].standard for c in self.catalogue.of_tier(tier))
                for row, tier in enumerate(self.tiers)
            ]
        )

    @cached_property
    def fewest_checks(self) -> NDArray[np.int64]:
        """Attempts at the least tried required skill of each athlete's tier."""
        counts = np.zeros(self.chance.shape, dtype=np.int64)
        np.add.at(counts, (self.log.athlete, self.log.skill), 1)
        return np.array(
            [
                min(counts[row, list(self.catalogue.of_tier(tier))])
                for row, tier in enumerate(self.tiers)
            ]
        )


def simulate(seed: int = 1, habits: Habits | None = None) -> SimulatedGym:
    """Run a gym week by week."""
    run = _Run(habits or Habits(), seed)
    for week in range(run.habits.weeks):
        run.pass_week(week)
        run.check(week)
    return run.finished()


class _Run:
    """A gym on its way through the weeks."""

    def __init__(self, habits: Habits, seed: int) -> None:
        self.habits, self.dice = habits, np.random.default_rng(seed)
        h, dice = habits, self.dice
        self.catalogue = ladder_catalogue(h.ladders, h.tiers, h.gates)
        skills = self.catalogue.skills
        self.tier_of = np.array([skill.tier for skill in skills])
        self.ladder_of = np.array(self.catalogue.ladder_of)
        spread = dice.normal(0, h.difficulty_sd, len(skills))
        self.difficulty = (self.tier_of - 1) * TIER_GAP + spread
        self.help_gap = np.exp(dice.normal(np.log(1.5), 0.2, len(skills)))
        self.severity = dice.normal(0, h.severity_sd, h.coaches)
        self.severity -= self.severity.mean()  # an average coach is neither harsh nor lenient
        shares = np.array([0.4, 0.3, 0.2, 0.1])[: h.tiers]
        self.tiers = dice.choice(np.arange(1, h.tiers + 1), h.athletes, p=shares / shares.sum())
        self.general = (self.tiers - 1) * TIER_GAP + h.edge
        self.general = self.general + dice.normal(0, h.general_sd, h.athletes)
        self.on_ladder = dice.normal(0, h.ladder_sd, (h.athletes, h.ladders))
        self.at_skill = dice.normal(0, h.skill_sd, (h.athletes, len(skills)))
        self.columns: list[list[object]] = [[], [], [], [], [], []]
        self.true_clean: list[float] = []
        self.moves: list[tuple[int, int, int]] = []

    @property
    def ability(self) -> Floats:
        total = self.general[:, None] + self.on_ladder[:, self.ladder_of] + self.at_skill
        return np.asarray(total - self.difficulty)

    def away(self, week: int) -> bool:
        """Seven weeks of holidays in the middle, where the gym has them."""
        middle = self.habits.weeks // 2
        return self.habits.holiday > 0 and middle <= week < middle + 7

    def pass_week(self, week: int) -> None:
        h, dice, days = self.habits, self.dice, 7.0
        gain = np.full(h.athletes, 0.0 if self.away(week) else h.growth * days)
        if h.plateaus:  # everything learnt in six weeks comes in one
            gain = 6.0 * gain * (np.arange(h.athletes) % 6 == week % 6)
        if self.away(week):
            gain -= h.holiday / 7.0
        for values, share in zip(
            (self.general, self.on_ladder, self.at_skill), SHARES, strict=True
        ):
            values += dice.normal(0, np.sqrt(h.drift * days * share), values.shape)
        self.general += gain
        if h.move_ups and week % 4 == 3:
            self._move_up(FIRST_DAY + 7 * week)

    def _move_up(self, day: int) -> None:
        """Whoever is truly at the standard of all skills of a tier but one moves up."""
        at_standard = self.ability >= logit(0.8)
        for row, tier in enumerate(self.tiers):
            columns = list(self.catalogue.of_tier(int(tier)))
            if tier < self.habits.tiers and at_standard[row, columns].sum() >= len(columns) - 1:
                self.moves.append((day, row, int(tier)))
                self.tiers[row] += 1

    def check(self, week: int) -> None:
        h, dice = self.habits, self.dice
        if self.away(week):
            return
        ability = self.ability
        for row in np.flatnonzero(dice.random(h.athletes) < h.seen_weekly):
            reach = self.tiers[row] + (dice.random() < 0.3)
            near = (np.abs(self.tier_of - self.tiers[row]) <= 1) & (self.tier_of <= reach)
            pool = np.flatnonzero(near)
            tried = dice.choice(pool, size=min(h.skills_a_check, len(pool)), replace=False)
            coach = int(dice.integers(h.coaches))
            when = FIRST_DAY + 7 * week + CLASS_TIME
            for skill in tried:
                for _ in range(int(dice.integers(1, h.most_tries + 1))):
                    when += TRY_TIME
                    self._try(int(row), int(skill), coach, when, float(ability[row, skill]))

    def _try(self, row: int, skill: int, coach: int, when: float, ability: float) -> None:
        h, x, roll = self.habits, ability - self.severity[coach], self.dice.random()
        clean = h.luck + (1 - h.luck) * expit(x)
        helped = max(clean, h.luck + (1 - h.luck) * expit(x + self.help_gap[skill]))
        result = CLEAN if roll < clean else ASSISTED if roll < helped else MISS
        if result != CLEAN and self.dice.random() < h.misses_lost:
            return
        code = self.catalogue.skills[skill].code
        values = (f"A{row:04d}", code, when, result, f"C{coach}", "")
        for column, value in zip(self.columns, values, strict=True):
            column.append(value)
        written = clean + (1 - clean) * (1 - h.misses_lost)
        self.true_clean.append(float(clean / written))

    def finished(self) -> SimulatedGym:
        h, ability = self.habits, self.ability
        names = [f"A{row:04d}" for row in range(h.athletes)]
        order = np.lexsort((np.array(self.columns[2]), np.array(self.columns[0])))
        return SimulatedGym(
            catalogue=self.catalogue,
            log=gather(self.catalogue, names, self.columns),
            tiers=tuple(int(tier) for tier in self.tiers),
            on_day=FIRST_DAY + 7 * (h.weeks - 1),
            chance=h.luck + (1 - h.luck) * expit(ability),
            ability=ability,
            difficulty=self.difficulty,
            help_gap=self.help_gap,
            severity={f"C{coach}": float(value) for coach, value in enumerate(self.severity)},
            true_clean=np.array(self.true_clean)[order],
            moves=tuple(self.moves),
        )


def ladder_catalogue(ladders: int, tiers: int, gates: int = 0) -> Catalogue:
    """Ladders with one skill a tier, each needing the one below; the first few are gates."""
    return Catalogue(
        tuple(
            Skill(
                code=f"L{ladder}-{tier}",
                ladder=f"L{ladder}",
                tier=tier,
                name=f"Ladder {ladder}, rung {tier}",
                gate=ladder < gates,
                needs=(f"L{ladder}-{tier - 1}",) if tier > 1 else (),
            )
            for ladder in range(ladders)
            for tier in range(1, tiers + 1)
        )
    )
