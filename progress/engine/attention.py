"""Athletes a lead may want to look at: went back, not checked lately, coming less often.

Only the figures; what to make of them is for people who know the child.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaln

from progress.engine.log import Log
from progress.engine.outcomes import Floats, Ints
from progress.engine.picture import Picture
from progress.engine.readiness import readiness
from progress.engine.terms import Athlete, Decision

UNCHECKED_DAYS = 28
DROP_BELOW = 0.05
LEVELS = {Decision.BUILDING: 0, Decision.NEARLY: 1, Decision.READY: 2}


@dataclass(frozen=True)
class WentBack:
    """An athlete whose readiness is less than it was, in the same tier.

    ``slipped``: skills secure before whose chance is no longer sure enough. ``gone_stale``: skills
    secure before that only lack fresh evidence now. ``attempts_since`` were made in between.
    ``open_only``: ready before, and now only open for lack of checks.
    """

    athlete: str
    tier: int
    before: Decision
    now: Decision
    p_before: float
    p_now: float
    slipped: tuple[str, ...]
    gone_stale: tuple[str, ...]
    attempts_since: int
    open_only: bool


@dataclass(frozen=True)
class Unchecked:
    """An athlete without an attempt for long: venue day of the last and days since, if any."""

    athlete: str
    last_day: int | None
    days_ago: int | None
    on_hold: bool


@dataclass(frozen=True)
class Attendance:
    """Meetings an athlete came to, of those held, in an earlier and in a later window.

    ``p``: probability of coming as seldom as that in the later window, or more so, had nothing
    changed, given how often the athlete came in both together. ``dropped``: p is below the cut.
    """

    athlete: str
    came_before: int
    held_before: int
    came_now: int
    held_now: int
    p: float
    dropped: bool


def went_back(
    before: Picture, now: Picture, age_floors: Mapping[int, float] | None = None
) -> tuple[WentBack, ...]:
    """Athletes of both pictures, in the order of ``now``, whose readiness fell.

    Both must be of the same catalogue (ValueError). Who moved to another tier is left out: the
    question there is another one. From "needs checks" nobody falls, as nothing was claimed.
    """
    if before.catalogue.skills != now.catalogue.skills:
        raise ValueError("pictures of two catalogues cannot be compared")
    earlier = {said.athlete: said for said in readiness(before, age_floors)}
    found = []
    for row, said in enumerate(readiness(now, age_floors)):
        then = earlier.get(said.athlete)
        if then is None or then.tier != said.tier or then.decision not in LEVELS:
            continue
        open_only = then.decision is Decision.READY and said.decision is Decision.NEEDS_CHECKS
        fell = said.decision in LEVELS and LEVELS[said.decision] < LEVELS[then.decision]
        if not (open_only or fell):
            continue
        place = before.place[said.athlete]
        slipped, stale = _lost(before, place, now, row)
        tries = now.evidence.attempts[row].sum() - before.evidence.attempts[place].sum()
        found.append(
            WentBack(
                athlete=said.athlete,
                tier=said.tier,
                before=then.decision,
                now=said.decision,
                p_before=then.p_ready,
                p_now=said.p_ready,
                slipped=slipped,
                gone_stale=stale,
                attempts_since=int(tries),
                open_only=open_only,
            )
        )
    return tuple(found)


def _lost(
    before: Picture, place: int, now: Picture, row: int
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Skills secure before and not now: those that slipped, and those only stale."""
    lost = np.flatnonzero(before.secure[place] & ~now.secure[row])
    sure = now.confidence[row] >= now.rules.secure_confidence
    codes = [skill.code for skill in now.catalogue.skills]
    return (
        tuple(codes[column] for column in lost if not sure[column]),
        tuple(codes[column] for column in lost if sure[column]),
    )


def not_checked(
    athletes: Sequence[Athlete], log: Log, on_day: int, days: int = UNCHECKED_DAYS
) -> tuple[Unchecked, ...]:
    """Athletes with no attempt on ``on_day`` or the ``days`` - 1 days before; never first.

    ``log`` has the same athletes in the same order (ValueError) and ends with ``on_day``.
    """
    if tuple(athlete.code for athlete in athletes) != log.athletes:
        raise ValueError("the log's athletes must be those asked about, in their order")
    last = np.full(len(athletes), -1, dtype=np.int64)
    np.maximum.at(last, log.athlete, log.day)
    found = []
    for athlete, day in zip(athletes, last.tolist(), strict=True):
        if day < 0 or on_day - day >= days:
            seen = day >= 0
            held = athlete.held or bool(athlete.held_ladders)
            found.append(
                Unchecked(athlete.code, day if seen else None, on_day - day if seen else None, held)
            )
    return tuple(sorted(found, key=lambda one: (one.last_day or -1, one.athlete)))


def attendance(
    athletes: Sequence[str],
    came_before: Ints,
    held_before: Ints,
    came_now: Ints,
    held_now: Ints,
    cut: float = DROP_BELOW,
) -> tuple[Attendance, ...]:
    """Compare two windows of the register, an entry an athlete, in the order given.

    ``held_*`` count the meetings the athlete was expected at (not those on hold), ``came_*`` those
    attended. Of many athletes a few fall below the cut by luck alone: ``cut`` of them at most.
    """
    p = fewer_by_luck(came_before, held_before, came_now, held_now)
    columns = zip(athletes, came_before, held_before, came_now, held_now, p, strict=True)
    return tuple(
        Attendance(who, int(a), int(b), int(c), int(d), float(one), bool(one < cut))
        for who, a, b, c, d, one in columns
    )


def fewer_by_luck(came_before: Ints, held_before: Ints, came_now: Ints, held_now: Ints) -> Floats:
    """Fisher's exact one-sided p of coming at most ``came_now`` times of ``held_now``.

    Arrays of one length. Given all times the athlete came, the later ones are hypergeometric if
    nothing changed (Fisher 1935, The Design of Experiments). ValueError for counts above their
    total.
    """
    for came, held in ((came_before, held_before), (came_now, held_now)):
        if np.any(np.asarray(came) < 0) or np.any(np.asarray(came) > np.asarray(held)):
            raise ValueError("nobody comes more often than there are meetings")
    came = np.asarray(came_before) + np.asarray(came_now)
    most = int(np.max(came_now, initial=0))
    times = np.arange(most + 1)[None, :]
    before, now = np.asarray(held_before)[:, None], np.asarray(held_now)[:, None]
    rest = came[:, None] - times
    possible = (times <= np.asarray(came_now)[:, None]) & (rest >= 0) & (rest <= before)
    rest = np.where(possible, rest, 0)
    here = np.where(possible, times, 0)
    log_p = _log_choose(now, here) + _log_choose(before, rest)
    log_p = log_p - _log_choose(now + before, came[:, None])
    return np.minimum(np.where(possible, np.exp(log_p), 0.0).sum(axis=1), 1.0)


def _log_choose(of: Ints, some: Ints) -> Floats:
    return np.asarray(-np.log(of + 1.0) - betaln(of - some + 1.0, some + 1.0))
