"""The state of every athlete and skill on one day, put together from beliefs and evidence."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.special import logit, ndtr

from progress.engine.answers import Estimate
from progress.engine.beliefs import Beliefs
from progress.engine.evidence import Evidence, Flags, gather_evidence
from progress.engine.joint import all_above
from progress.engine.log import Log
from progress.engine.outcomes import MISS, Floats, chance_interval, chance_of_clean
from progress.engine.parameters import Parameters
from progress.engine.replay import Pauses, replay
from progress.engine.rules import Rules
from progress.engine.terms import Athlete, Catalogue, SkillState

STATES = tuple(SkillState)
WORDS = {
    SkillState.SECURE: "secure",
    SkillState.NEARLY: "nearly there",
    SkillState.BUILDING: "building",
    SkillState.STALE: "not checked lately",
    SkillState.UNCHECKED: "not checked yet",
}


@dataclass(frozen=True)
class Picture:
    """Everything known on ``on_day``; arrays have shape (athletes, skills).

    ``mean`` and ``variance`` are of ability minus difficulty in logits, doubt about the
    difficulty included. Athletes are in the order of ``athletes``.
    """

    catalogue: Catalogue
    athletes: tuple[Athlete, ...]
    rules: Rules
    parameters: Parameters
    on_day: int
    beliefs: Beliefs
    evidence: Evidence
    mean: Floats
    variance: Floats

    @cached_property
    def place(self) -> dict[str, int]:
        """Athlete code to row."""
        return {athlete.code: row for row, athlete in enumerate(self.athletes)}

    @cached_property
    def tier(self) -> "np.ndarray[tuple[int], np.dtype[np.int64]]":
        """Current tier, one an athlete."""
        return np.array([athlete.tier for athlete in self.athletes], dtype=np.int64)

    @cached_property
    def standard(self) -> Floats:
        """Each skill's standard in logits."""
        return np.asarray(logit([skill.standard for skill in self.catalogue.skills]))

    @cached_property
    def chance(self) -> Floats:
        """Probability that the next attempt is clean."""
        return chance_of_clean(self.mean, self.variance)

    @cached_property
    def interval(self) -> tuple[Floats, Floats]:
        """Bounds of the chance with 90% probability."""
        return chance_interval(self.mean, self.variance)

    @cached_property
    def confidence(self) -> Floats:
        """Probability that the chance meets the skill's standard."""
        return np.asarray(ndtr((self.mean - self.standard) / np.sqrt(self.variance)))

    @cached_property
    def p_ready(self) -> Floats:
        """Joint probability, one an athlete, that all skills required in their tier are held.

        Held here means a chance at the skill's standard or above, correlations included.
        """
        joint = np.zeros(len(self.athletes))
        for tier in np.unique(self.tier):
            rows = np.flatnonzero(self.tier == tier)
            joint[rows] = self.p_all(self.beliefs.rows(rows), int(tier))
        return joint

    def p_all(self, beliefs: Beliefs, tier: int) -> Floats:
        """The joint probability for ``tier`` under other ``beliefs``, one an athlete of them."""
        columns = list(self.catalogue.of_tier(tier))
        bars = self.parameters.difficulty[columns] + self.standard[columns]
        return all_above(beliefs, columns, bars, self.parameters.difficulty_sd[columns] ** 2)

    @cached_property
    def secure(self) -> Flags:
        """Sure enough, with the evidence floor met."""
        return (self.confidence >= self.rules.secure_confidence) & self.evidence.floor

    @cached_property
    def state(self) -> "np.ndarray[tuple[int, int], np.dtype[np.int64]]":
        """Index into ``STATES``."""
        choices = [
            (self.secure, SkillState.SECURE),
            (self.evidence.attempts == 0, SkillState.UNCHECKED),
            (self.evidence.recent == 0, SkillState.STALE),
            (self.confidence >= self.rules.nearly_confidence, SkillState.NEARLY),
        ]
        conditions = [condition for condition, _ in choices]
        numbers = [STATES.index(state) for _, state in choices]
        return np.select(conditions, numbers, STATES.index(SkillState.BUILDING))

    @cached_property
    def held(self) -> Flags:
        """Whether a skill counts as held where something else needs it.

        Secure skills do. So do skills of tiers the athlete has already been moved up from, while
        the log bears it out: shown clean at least once (itself or through a skill that needs it)
        and more likely than not at its standard. A gate must moreover be as sure as secure, shown
        within the fresh days, and its last try not a miss. A tier on a record alone holds nothing.
        """
        skills = self.catalogue.skills
        gate = np.array([skill.gate for skill in skills], dtype=bool)
        level = np.array([skill.tier for skill in skills])
        shown = self.evidence.shown
        fresh = shown >= self.on_day - self.rules.fresh_days
        borne_out = (shown >= 0) & (self.confidence >= 0.5)
        sure = self.confidence >= self.rules.secure_confidence
        sure &= fresh & (self.evidence.last_result != MISS)
        earlier = level < self.tier[:, None]
        return self.secure | (earlier & borne_out & (~gate | sure))

    def estimate(self, row: int, column: int) -> Estimate:
        """The answer for one athlete and one skill."""
        low, high = self.interval
        evidence, skill = self.evidence, self.catalogue.skills[column]
        last = int(evidence.last[row, column])
        return Estimate(
            athlete=self.athletes[row].code,
            skill=skill.code,
            chance=float(self.chance[row, column]),
            low=float(low[row, column]),
            high=float(high[row, column]),
            confidence=float(self.confidence[row, column]),
            attempts=int(evidence.attempts[row, column]),
            days=int(evidence.days[row, column]),
            recent=int(evidence.recent[row, column]),
            last=None if last < 0 else last,
            state=STATES[self.state[row, column]],
            held=bool(self.held[row, column]),
            why=self.why(row, column),
        )

    def why(self, row: int, column: int) -> str:
        """One line on the evidence behind a state."""
        evidence = self.evidence
        tries, days = int(evidence.attempts[row, column]), int(evidence.days[row, column])
        if tries == 0:
            return "No attempt on record."
        clean = int(evidence.clean[row, column])
        line = f"{clean} of {tries} clean on {days} day{'s' if days != 1 else ''}"
        ago = self.on_day - int(evidence.last[row, column])
        if evidence.recent[row, column] == 0:
            return f"{line}, the last {ago} days ago."
        missing = self.short_of(row, column)
        return f"{line}; still asks for {missing}." if missing else f"{line}."

    def short_of(self, row: int, column: int) -> str:
        """What the evidence floor still asks for, in words; empty where it is met."""
        evidence, rules = self.evidence, self.rules
        if evidence.floor[row, column]:
            return ""
        if self.catalogue.skills[column].gate:
            if evidence.run[row, column] == 0:
                return self._whole_gate()
            more = rules.gate_clean_in_a_row - int(evidence.run[row, column])
            parts = [f"{more} more clean in a row"] if more > 0 else []
            if evidence.run_days[row, column] < rules.gate_days:
                parts.append("another day")
            if evidence.run_coaches[row, column] < evidence.coaches_needed:
                parts.append("another coach")
            return " with ".join([parts[0], " and ".join(parts[1:])] if parts[1:] else parts)
        clean_days = int(evidence.clean_days[row, column])
        more = rules.clean_attempts - int(evidence.clean[row, column])
        more = max(more, rules.clean_days - clean_days, 1)
        return f"{more} more clean" + (" on another day" if clean_days else "")

    def _whole_gate(self) -> str:
        """A gate's floor in words, for an athlete who has nothing of it yet."""
        rules, coaches = self.rules, self.evidence.coaches_needed
        words = f"{rules.gate_clean_in_a_row} clean in a row on {rules.gate_days} days"
        return words + (f" with {coaches} coaches" if coaches > 1 else "")


def picture(
    catalogue: Catalogue,
    athletes: Sequence[Athlete],
    log: Log,
    parameters: Parameters,
    rules: Rules,
    on_day: int,
    pauses: Pauses | None = None,
) -> Picture:
    """Replay ``log`` and return what is known at the end of venue day ``on_day``.

    The log's athletes must be those of ``athletes`` in the same order; its attempts must not be
    later than that day.
    """
    tiers = [athlete.tier for athlete in athletes]
    run = replay(catalogue, tiers, log, parameters, on_day + 1.0, pauses)
    mean, variance = run.beliefs.abilities()
    return Picture(
        catalogue=catalogue,
        athletes=tuple(athletes),
        rules=rules,
        parameters=parameters,
        on_day=on_day,
        beliefs=run.beliefs,
        evidence=gather_evidence(catalogue, log, rules, on_day),
        mean=mean - parameters.difficulty,
        variance=variance + parameters.difficulty_sd**2,
    )
