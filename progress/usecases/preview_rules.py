"""The lead asks, before anything is saved: who would change if the rules or skills were others?

The whole gym is replayed once. What is known of each child stays as it is; only what is asked of
it differs, so both sides are read from the same beliefs.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Generic, TypeVar

import numpy as np

from progress.engine import terms
from progress.engine.answers import Readiness
from progress.engine.evidence import gather_evidence
from progress.engine.picture import STATES, Picture
from progress.engine.readiness import readiness
from progress.engine.rules import Rules
from progress.engine.terms import Catalogue, Decision, SkillState
from progress.models import Athlete, Enrolment, Skill, SkillRule
from progress.usecases.change_skills import SkillValues
from progress.usecases.engine_inputs import as_terms, away_lately
from progress.usecases.know_athletes import Known, age_floors, know_athletes
from progress.usecases.weaker_rules import asked_above

What = TypeVar("What")


@dataclass(frozen=True)
class Count(Generic[What]):
    """How many of ``what`` there are now, and how many there would be."""

    what: What
    before: int
    after: int


@dataclass(frozen=True)
class AthleteChange:
    """A child whose readiness for the next tier would be another."""

    athlete: Athlete
    classes: str
    before: Readiness
    after: Readiness


@dataclass(frozen=True)
class GateChange:
    """A safety skill, how many children would newly count as holding it, and how many no more."""

    skill: Skill
    newly: int
    no_longer: int


@dataclass(frozen=True)
class Preview:
    """What would be otherwise, for all children in the programme now.

    ``decisions`` leave out the highest tier. ``states`` count every skill of every child.
    ``newly_holding`` and ``no_longer_holding``: children with at least one such safety skill.
    ``heights``: children who may be sent higher than so many metres, where that differs.
    ``easing``: children who are eased back after a break or a hold. ``unseen``: not checked lately.
    """

    athletes: int
    decisions: tuple[Count[Decision], ...]
    states: tuple[Count[SkillState], ...]
    changed: tuple[AthleteChange, ...]
    gates: tuple[GateChange, ...]
    newly_holding: int
    no_longer_holding: int
    heights: tuple[Count[float], ...]
    easing: Count[str]
    unseen: Count[str]


def preview_rules(*, rules: Rules, today: date) -> Preview:
    """What ``rules`` would change against those in force; nothing is stored.

    Ten queries at most, however many children there are.
    """
    gym = _Gym.read(today, coaches_asked=rules.gate_coaches)
    before = gym.known.picture
    away = away_lately(gym.known.athletes, today, rules.absence_days)
    after = replace(
        before,
        rules=rules,
        athletes=as_terms(gym.known.athletes, gym.known.holds, rules, away),
        evidence=gather_evidence(before.catalogue, gym.known.log, rules, before.on_day),
    )
    return gym.compare(after)


def preview_skills(*, changes: SkillValues, today: date) -> Preview:
    """What other tiers, standards or requirements of skills would change; nothing is stored.

    ``changes`` as ``change_skills`` takes them, already found possible; unknown codes are left out.
    """
    gym = _Gym.read(today)
    before = gym.known.picture
    skills = tuple(_with(skill, changes.get(skill.code, {})) for skill in before.catalogue.skills)
    return gym.compare(replace(before, catalogue=Catalogue(skills, before.catalogue.ladders)))


def _with(skill: terms.Skill, values: Mapping[SkillRule, Any]) -> terms.Skill:
    return replace(
        skill,
        tier=values.get(SkillRule.TIER, skill.tier),
        standard=values.get(SkillRule.STANDARD, skill.standard),
        required=values.get(SkillRule.REQUIRED, skill.required),
    )


@dataclass(frozen=True)
class _Gym:
    """Everybody in the programme today and the picture of them under the rules in force."""

    known: Known
    classes: Mapping[int, str]

    @classmethod
    def read(cls, today: date, coaches_asked: int = 1) -> "_Gym":
        """Replay the whole gym; ``coaches_asked``: how many the other rules ask for at a gate."""
        known = know_athletes(athletes=_everybody(today), today=today, coaches_asked=coaches_asked)
        return cls(known, _classes(today))

    def compare(self, after: Picture) -> Preview:
        before, floors = self.known.picture, age_floors(self.known.skills)
        was, now = readiness(before, floors), readiness(after, floors)
        gate = np.array([skill.gate for skill in before.catalogue.skills], dtype=bool)
        newly, lost = after.held & ~before.held & gate, before.held & ~after.held & gate
        return Preview(
            athletes=len(self.known.athletes),
            decisions=_decision_counts(was, now),
            states=_state_counts(before, after),
            changed=tuple(self._changed(was, now)),
            gates=tuple(
                GateChange(self.known.skills[skill.code], int(up), int(down))
                for skill, up, down in zip(
                    before.catalogue.skills, newly.sum(axis=0), lost.sum(axis=0), strict=True
                )
                if up or down
            ),
            newly_holding=int(newly.any(axis=1).sum()),
            no_longer_holding=int(lost.any(axis=1).sum()),
            heights=_height_counts(before, after),
            easing=_both("eased back", before, after, _easing_back),
            unseen=_both("not seen", before, after, _unseen),
        )

    def _changed(
        self, was: Sequence[Readiness], now: Sequence[Readiness]
    ) -> Iterator[AthleteChange]:
        for athlete, old, new in zip(self.known.athletes, was, now, strict=True):
            can_move = old.next_tier is not None or new.next_tier is not None
            other = old.decision is not new.decision or old.next_tier != new.next_tier
            if can_move and other:
                yield AthleteChange(athlete, self.classes.get(athlete.pk, ""), old, new)


def _everybody(today: date) -> list[Athlete]:
    """Children in the programme by name, with the last day they came."""
    here = Athlete.objects.here_on(today)
    return list(here.with_last_here(today).order_by("name", "code"))


def _classes(today: date) -> dict[int, str]:
    """The names of the classes each athlete is in, by key."""
    running = Enrolment.objects.running_on(today).order_by("gym_class__name")
    found: dict[int, list[str]] = {}
    for athlete, name in running.values_list("athlete_id", "gym_class__name"):
        found.setdefault(athlete, []).append(name)
    return {athlete: ", ".join(names) for athlete, names in found.items()}


def _decision_counts(
    was: Sequence[Readiness], now: Sequence[Readiness]
) -> tuple[Count[Decision], ...]:
    old = Counter(one.decision for one in was if one.next_tier is not None)
    new = Counter(one.decision for one in now if one.next_tier is not None)
    return tuple(Count(each, old[each], new[each]) for each in Decision)


def _state_counts(before: Picture, after: Picture) -> tuple[Count[SkillState], ...]:
    old = np.bincount(before.state.ravel(), minlength=len(STATES))
    new = np.bincount(after.state.ravel(), minlength=len(STATES))
    counted = zip(STATES, old, new, strict=True)
    return tuple(Count(state, int(then), int(later)) for state, then, later in counted)


def _both(what: str, before: Picture, after: Picture, of: Callable[[Picture], int]) -> Count[str]:
    return Count(what, of(before), of(after))


def _easing_back(picture: Picture) -> int:
    return sum(athlete.easing_back for athlete in picture.athletes)


def _unseen(picture: Picture) -> int:
    """Children without a check in the days the rules allow; those never checked count too."""
    last = picture.evidence.last.max(axis=1, initial=-1)
    return int((last <= picture.on_day - picture.rules.unseen_days).sum())


def _height_counts(before: Picture, after: Picture) -> tuple[Count[float], ...]:
    both = (*before.rules.height_rules, *after.rules.height_rules)
    heights = sorted({rule.above_m for rule in both})
    counts = (Count(h, _may_go_above(before, h), _may_go_above(after, h)) for h in heights)
    return tuple(one for one in counts if one.before != one.after)


def _may_go_above(picture: Picture, height: float) -> int:
    """Children who hold every skill asked for above this height.

    Where one of them is not in the catalogue, the safety skills up to the child's tier stand in
    for it, as they do when a child is sent to a variant.
    """
    asked = asked_above(picture.rules.height_rules, height)
    place, skills = picture.catalogue.position, picture.catalogue.skills
    columns = [place[code] for code in sorted(asked) if code in place]
    may = picture.held[:, columns].all(axis=1)
    if len(columns) < len(asked):
        gate = np.array([skill.gate for skill in skills], dtype=bool)
        level = np.array([skill.tier for skill in skills])
        stand_in = gate & (level <= picture.tier[:, None])
        may &= (picture.held | ~stand_in).all(axis=1)
        may &= stand_in.any(axis=1) | bool(columns)
    return int(may.sum())
