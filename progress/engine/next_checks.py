"""Which few skills to check next: those that could change the answer about the next tier."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from progress.engine.answers import NextCheck
from progress.engine.outcomes import ASSISTED, CLEAN, MISS, Floats, Ints
from progress.engine.picture import Picture
from progress.engine.terms import Catalogue

AT_A_TIME = 4096  # athlete-skill pairs tried out at once
OPENNESS = 0.02  # breaks ties towards the skill whose answer is most open


@dataclass(frozen=True)
class _Pair:
    """One athlete and one skill that could be checked."""

    row: int
    column: int
    gain: float
    missing: bool


def next_checks(picture: Picture, rows: Sequence[int]) -> tuple[NextCheck, ...]:
    """The checks for one meeting of the athletes in ``rows``, best first, within the budget.

    A pair's gain is how far one check is expected to move ``p_ready``, plus its share of the
    evidence still missing where the athlete looks ready. First comes one check for each child not
    seen lately, the longest unseen first; so nobody drops out of sight. Skills whose needs are not
    held, and anything on hold, are never suggested.
    """
    rules = picture.rules
    pairs = _worth_checking(picture, rows)
    by_row: dict[int, list[_Pair]] = {}
    for pair in pairs:
        by_row.setdefault(pair.row, []).append(pair)
    unseen = [row for row in _longest_unseen_first(picture, rows) if row in by_row]
    chosen = [by_row[row][0] for row in unseen]
    budget = max(rules.checks_per_class, len(chosen))
    first = {(pair.row, pair.column) for pair in chosen}
    used = Counter(pair.row for pair in chosen)
    for pair in pairs:
        if len(chosen) >= budget:
            break
        new = (pair.row, pair.column) not in first
        if new and used[pair.row] < rules.checks_per_athlete:
            chosen.append(pair)
            used[pair.row] += 1
    return tuple(
        NextCheck(
            picture.athletes[pair.row].code,
            picture.catalogue.skills[pair.column].code,
            rank,
            pair.gain,
            _why(picture, pair, pair.row in unseen),
        )
        for rank, pair in enumerate(chosen, start=1)
    )


def _worth_checking(picture: Picture, rows: Sequence[int]) -> list[_Pair]:
    """All pairs that may be checked, the largest gain first."""
    open_pairs = [(row, column) for row in rows for column in _open_skills(picture, row)]
    if not open_pairs:
        return []
    at = np.array(open_pairs, dtype=np.int64)
    now = picture.p_ready
    moves = np.concatenate(
        [
            _expected_move(picture, at[start : start + AT_A_TIME], now)
            for start in range(0, len(at), AT_A_TIME)
        ]
    )
    short = {row: _short(picture, row) for row in rows}
    confidence = picture.confidence
    pairs = []
    for (row, column), move in zip(open_pairs, moves, strict=True):
        missing = column in short[row]
        share = now[row] / len(short[row]) if missing else 0.0
        open_to_change = 1.0 - abs(2.0 * confidence[row, column] - 1.0)
        # Rounded, because the last bits depend on who else is in the same array.
        gain = round(float(move + share + OPENNESS * open_to_change), 12)
        pairs.append(_Pair(row, column, gain, missing and now[row] >= picture.rules.ready_at))
    return sorted(pairs, key=lambda p: (-p.gain, picture.athletes[p.row].code, p.column))


def _open_skills(picture: Picture, row: int) -> list[int]:
    """Skills that are not secure and may be tried.

    Those of the athlete's tier; and, where they are not held, gates below it and whatever the
    tier's skills need: a child new to the gym could otherwise never be checked at them.
    """
    athlete, catalogue = picture.athletes[row], picture.catalogue
    if athlete.held:
        return []
    found = []
    needed = _needed(catalogue, athlete.tier)
    for column, skill in enumerate(catalogue.skills):
        of_tier = skill.tier == athlete.tier and (skill.required or skill.gate)
        below = (skill.gate and skill.tier < athlete.tier) or skill.code in needed
        done = picture.secure[row, column] or (not of_tier and picture.held[row, column])
        if (of_tier or below) and not done and _may_try(picture, row, column):
            found.append(column)
    return found


def _needed(catalogue: Catalogue, tier: int) -> set[str]:
    """Everything that the skills of ``tier`` need, and what that needs in turn."""
    found: set[str] = set()
    asked = [s for s in catalogue.skills if s.tier == tier and (s.required or s.gate)]
    left = [code for skill in asked for code in skill.needs]
    while left:
        code = left.pop()
        if code not in found:
            found.add(code)
            left.extend(catalogue.skill(code).needs)
    return found


def _may_try(picture: Picture, row: int, column: int) -> bool:
    athlete, skill = picture.athletes[row], picture.catalogue.skills[column]
    young = (
        skill.minimum_age is not None
        and athlete.age is not None
        and athlete.age < skill.minimum_age
    )
    held = all(picture.held[row, picture.catalogue.position[need]] for need in skill.needs)
    return held and not young and skill.ladder not in athlete.held_ladders


def _short(picture: Picture, row: int) -> set[int]:
    """Skills of the tier whose evidence floor is not met."""
    tier = picture.athletes[row].tier
    floor = picture.evidence.floor[row]
    return {
        column
        for column, skill in enumerate(picture.catalogue.skills)
        if skill.tier == tier and (skill.required or skill.gate) and not floor[column]
    }


def _expected_move(picture: Picture, pairs: Ints, now: Floats) -> Floats:
    """Expected absolute change of p_ready from one try at each (row, column) of ``pairs``."""
    move = np.zeros(len(pairs))
    parameters = picture.parameters
    gap = parameters.help_gap[pairs[:, 1]]
    for result in (MISS, ASSISTED, CLEAN):
        after = picture.beliefs.rows(pairs[:, 0])
        log_chance = after.observe(
            pairs[:, 1],
            np.full(len(pairs), result, dtype=np.int64),
            parameters.difficulty[pairs[:, 1]],
            gap,
        )
        for tier in np.unique(picture.tier[pairs[:, 0]]):
            mine = np.flatnonzero(picture.tier[pairs[:, 0]] == tier)
            then = picture.p_all(after.rows(mine), int(tier))
            change = np.abs(then - now[pairs[mine, 0]])
            move[mine] += np.exp(log_chance[mine]) * change
    return move


def _longest_unseen_first(picture: Picture, rows: Sequence[int]) -> list[int]:
    """Athletes with no attempt within the unseen days; ties go by code, whatever the order."""
    last = picture.evidence.last.max(axis=1, initial=-1)
    limit = picture.on_day - picture.rules.unseen_days
    unseen = [row for row in rows if last[row] <= limit]
    return sorted(unseen, key=lambda row: (last[row], picture.athletes[row].code))


def _why(picture: Picture, pair: _Pair, unseen: bool) -> str:
    skill = picture.catalogue.skills[pair.column]
    evidence = picture.evidence
    last = int(evidence.last[pair.row].max(initial=-1))
    parts = []
    if unseen:
        weeks = (picture.on_day - last) // 7
        parts.append("never checked" if last < 0 else f"not checked for {weeks} weeks")
    if skill.gate:
        parts.append("safety skill")
    if pair.missing:
        parts.append(f"looks ready; still asks for {picture.short_of(pair.row, pair.column)}")
    elif evidence.attempts[pair.row, pair.column] == 0:
        parts.append("no attempt on record")
    elif not parts or not unseen:
        parts.append("could change the answer about the next tier")
    return "; ".join(parts)
