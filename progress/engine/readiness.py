"""Who looks ready for the next tier, and why: a suggestion for the person who decides."""

from collections.abc import Mapping
from dataclasses import dataclass

from progress.engine.answers import Readiness
from progress.engine.picture import Picture
from progress.engine.terms import Decision
from progress.engine.tier_asks import asked_of_tier, is_no_bar, slipped_gates

MOST_NAMED = 3


def readiness(
    picture: Picture, age_floors: Mapping[int, float] | None = None
) -> tuple[Readiness, ...]:
    """The suggestion for every athlete, in the picture's order.

    ``age_floors``: youngest age in years for moving up into a tier. An unknown age is not held
    against a child; the reason says that the age is unknown.
    """
    chances = picture.p_ready
    floors = age_floors or {}
    return tuple(
        _Case(picture, row, float(chances[row]), floors).decide()
        for row in range(len(picture.athletes))
    )


@dataclass(frozen=True)
class _Case:
    """One athlete's case, put together step by step."""

    picture: Picture
    row: int
    chance: float
    age_floors: Mapping[int, float]

    def decide(self) -> Readiness:
        athlete = self.picture.athletes[self.row]
        next_tier = self.picture.catalogue.next_tier(athlete.tier)
        weak = self._weakest_first()
        decision = self._decision(weak, next_tier)
        if decision is Decision.NEEDS_CHECKS and not weak:
            weak = self._least_sure()
        named = weak[: MOST_NAMED + 1] if decision is not Decision.READY else []
        return Readiness(
            athlete=athlete.code,
            tier=athlete.tier,
            next_tier=next_tier,
            decision=decision,
            p_ready=self.chance,
            holding_back=tuple(self.picture.catalogue.skills[column].code for column in named),
            reasons=tuple(self._reasons(decision, weak, next_tier)),
            would_change=tuple(self._would_change(decision, weak, next_tier)),
        )

    def _columns(self) -> list[int]:
        """Required skills and all gates of the athlete's tier."""
        return asked_of_tier(self.picture, self.row)

    def _lost_gates(self) -> list[int]:
        """Gates of earlier tiers that the recent log says are not held any more."""
        return slipped_gates(self.picture, self.row)

    def _short(self) -> list[int]:
        """Skills of the tier that bar "ready"."""
        return [c for c in self._columns() if not is_no_bar(self.picture, self.row, c)]

    def _weakest_first(self) -> list[int]:
        """Lost gates and skills of the tier that are not secure: the least likely held first."""
        secure, confidence = self.picture.secure[self.row], self.picture.confidence[self.row]
        open_ones = [column for column in self._columns() if not secure[column]]
        return sorted(self._lost_gates() + open_ones, key=lambda c: (confidence[c], c))

    def _least_sure(self) -> list[int]:
        """The skills to look at where each is secure and all together are not sure enough."""
        confidence = self.picture.confidence[self.row]
        return sorted(self._columns(), key=lambda c: (confidence[c], c))[:MOST_NAMED]

    def _thin(self, columns: list[int]) -> list[int]:
        """Those of ``columns`` with too few attempts, or none fresh, to meet their floor."""
        rules, skills, evidence = self.picture.rules, self.picture.catalogue.skills, self.picture
        attempts, recent = evidence.evidence.attempts[self.row], evidence.evidence.recent[self.row]
        return [
            c
            for c in columns
            if recent[c] == 0
            or (skills[c].gate and recent[c] < rules.gate_clean_in_a_row)
            or (not skills[c].gate and attempts[c] < rules.clean_attempts)
        ]

    def _decision(self, weak: list[int], next_tier: int | None) -> Decision:
        rules = self.picture.rules
        if not self.picture.evidence.attempts[self.row, self._columns()].any():
            return Decision.NEEDS_CHECKS
        if self.chance <= rules.building_at:
            return Decision.BUILDING
        if self._lost_gates() or self._on_hold() or self._too_young(next_tier):
            return Decision.NEARLY
        if self.chance >= rules.ready_at:
            return Decision.NEEDS_CHECKS if self._short() else Decision.READY
        thin = self._thin(weak[:2])
        return Decision.NEEDS_CHECKS if thin or not weak else Decision.NEARLY

    def _on_hold(self) -> bool:
        """Whether a person has stopped the athlete, on every ladder or on some."""
        athlete = self.picture.athletes[self.row]
        return athlete.held or bool(athlete.held_ladders)

    def _too_young(self, next_tier: int | None) -> bool:
        age = self.picture.athletes[self.row].age
        floor = self.age_floors.get(next_tier, 0.0) if next_tier is not None else 0.0
        return age is not None and age < floor

    def _reasons(self, decision: Decision, weak: list[int], next_tier: int | None) -> list[str]:
        reasons = []
        athlete, columns = self.picture.athletes[self.row], self._columns()
        if self._on_hold():
            reasons.append("on hold: ask the lead" if athlete.held else "a ladder is on hold")
        if self._too_young(next_tier):
            reasons.append(f"younger than tier {next_tier} asks for")
        if athlete.age is None and next_tier in self.age_floors:
            reasons.append(f"age unknown, and tier {next_tier} has a youngest age")
        for column in self._lost_gates()[:2]:
            reasons.append(f"safety skill of an earlier tier slipped: {self._names([column])}")
        done = int(self.picture.secure[self.row, columns].sum())
        reasons.append(f"{done} of {len(columns)} skills of tier {athlete.tier} secure")
        if decision is Decision.NEEDS_CHECKS:
            thin = self._thin(columns)
            if thin:
                reasons.append(f"too few recent checks at {self._names(thin)}")
            elif self._short():
                reasons.append(f"evidence still short at {self._names(weak)}")
            else:
                reasons.append(f"not sure enough of all together: look at {self._names(weak)}")
        elif decision is not Decision.READY and weak:
            reasons.append(f"held back by {self._names(weak)}")
        if next_tier is None:
            reasons.append("already in the top tier")
        return reasons

    def _would_change(
        self, decision: Decision, weak: list[int], next_tier: int | None
    ) -> list[str]:
        if decision is Decision.READY:
            return ["The lead decides; a miss at a safety skill would reopen the question."]
        skills = self.picture.catalogue.skills
        changes = ["The lead lifts the hold."] if self._on_hold() else []
        if self._too_young(next_tier):
            changes.append(f"A birthday: tier {next_tier} has a youngest age.")
        for column in weak[:MOST_NAMED]:
            missing = self.picture.short_of(self.row, column) or "more clean tries"
            changes.append(f"{skills[column].name or skills[column].code}: {missing}")
        return changes

    def _names(self, columns: list[int]) -> str:
        skills = self.picture.catalogue.skills
        named = [skills[column].name or skills[column].code for column in columns[:MOST_NAMED]]
        more = len(columns) - len(named)
        return ", ".join(named) + (f" and {more} more" if more > 0 else "")
