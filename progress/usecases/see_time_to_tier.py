"""The lead asks how long children take from joining to a tier, counting those still under way."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np
from django.utils import timezone

from progress.engine.evidence import Flags
from progress.engine.outcomes import Floats
from progress.engine.survival import Curve, LogRank, log_rank, time_to_tier
from progress.models import Athlete, SignOff, Tier
from progress.usecases.engine_inputs import end_of
from progress.usecases.kept_until_tomorrow import kept_until_tomorrow

WEEK = 7
FEWEST = 5  # children for a curve; of fewer, one can tell who they are and little else
FEWEST_MOVES = 5  # among the children compared, before terms are compared at all
MONTHS_A_TERM = 4  # January to April, May to August, September to December


class End(StrEnum):
    """How a child's way to a tier stands."""

    REACHED = "reached"
    UNDER_WAY = "under way"
    LEFT = "left"


@dataclass(frozen=True)
class Way:
    """One child's way to a tier in weeks since joining: ``since`` when it could be seen, and until
    when. Nobody is named."""

    since: float
    until: float
    end: End
    term: int


@dataclass(frozen=True)
class Times:
    """Some children on their way to a tier.

    ``curve`` is None where there are fewer than FEWEST of them. It begins at ``start``, in weeks
    since joining, and is then about those not there by that week: earlier, fewer than FEWEST
    could be seen at a time. ``followed`` is how long anybody was followed, in weeks.
    """

    children: int
    reached: int
    under_way: int
    left: int
    curve: Curve | None
    start: float
    followed: float


@dataclass(frozen=True)
class TierTimes:
    """A tier: all children, then those who joined in each term of four months (0, 1, 2).

    ``compared`` is None where too few were followed from their first day to compare terms.
    """

    number: int
    name: str
    everybody: Times
    by_term: Mapping[int, Times]
    compared: LogRank | None


@dataclass(frozen=True)
class TimesToTiers:
    """The answer as of the end of ``until``.

    ``seen_since`` is the day of the first decision on record, from which on moves can be seen;
    None where there is none. ``without_joined`` children have no day of joining on record.
    """

    until: date
    seen_since: date | None
    without_joined: int
    tiers: tuple[TierTimes, ...]


def see_time_to_tier(*, today: date) -> TimesToTiers:
    """How long from joining to each tier above the first, by standing sign-offs until yesterday.

    A child's tier on joining is the one that the first standing decision led out of, or today's.
    """
    return kept_until_tomorrow(question="time to tier", today=today, work_out=_work_out)


def _work_out(until: date) -> TimesToTiers:
    athletes = Athlete.objects.filter(erased_at__isnull=True)
    joined = list(athletes.filter(joined__lte=until).order_by("code"))
    tiers = list(Tier.objects.order_by("number"))
    seen_since = _first_decision(until)
    found: list[TierTimes] = []
    if seen_since is not None:
        moves = _moves()
        for tier in tiers[1:]:
            ways = list(_ways(joined, moves, tier.number, seen_since, until))
            found.append(_tier_times(tier, ways))
    return TimesToTiers(until, seen_since, athletes.filter(joined=None).count(), tuple(found))


@dataclass(frozen=True)
class _Move:
    from_tier: int
    to_tier: int
    day: date


def _first_decision(until: date) -> date | None:
    """From this day on every move is taken to be on record; undone decisions were records too."""
    decided = SignOff.objects.filter(decided_at__lt=end_of(until)).order_by("decided_at")
    first = decided.values_list("decided_at", flat=True).first()
    return None if first is None else timezone.localtime(first).date()


def _moves() -> dict[int, list[_Move]]:
    """Standing decisions by athlete, oldest first; later ones too, as they tell earlier tiers."""
    found: dict[int, list[_Move]] = {}
    rows = SignOff.objects.standing().order_by("decided_at", "pk")
    for athlete, low, high, at in rows.values_list(
        "athlete_id", "from_tier", "to_tier", "decided_at"
    ):
        found.setdefault(athlete, []).append(_Move(low, high, timezone.localtime(at).date()))
    return found


def _ways(
    athletes: Iterable[Athlete],
    moves: Mapping[int, Sequence[_Move]],
    tier: int,
    seen_since: date,
    until: date,
) -> Iterator[Way]:
    """The ways of all who joined below ``tier`` and could be seen on their way to it."""
    for athlete in athletes:
        mine = moves.get(athlete.pk, ())
        started_in = mine[0].from_tier if mine else athlete.tier_id
        if athlete.joined is None or started_in >= tier:
            continue
        last, end = until, End.UNDER_WAY
        if athlete.left is not None and athlete.left <= until:
            last, end = athlete.left, End.LEFT
        there = next((move.day for move in mine if move.to_tier >= tier), None)
        if there is not None and there <= until:
            last, end = there, End.REACHED
        # From the eve of the first decision, so that it counts itself.
        since = max(seen_since - timedelta(days=1), athlete.joined)
        if last > since or (last == since == athlete.joined):
            yield Way(
                since=(since - athlete.joined).days / WEEK,
                until=(last - athlete.joined).days / WEEK,
                end=end,
                term=(athlete.joined.month - 1) // MONTHS_A_TERM,
            )


def _tier_times(tier: Tier, ways: Sequence[Way]) -> TierTimes:
    terms = sorted({way.term for way in ways})
    return TierTimes(
        number=tier.number,
        name=tier.name,
        everybody=_times(ways),
        by_term={term: _times([way for way in ways if way.term == term]) for term in terms},
        compared=_compared(ways),
    )


def _times(ways: Sequence[Way]) -> Times:
    ends = [way.end for way in ways]
    curve, start = _curve(ways) if len(ways) >= FEWEST else (None, 0.0)
    return Times(
        children=len(ways),
        reached=ends.count(End.REACHED),
        under_way=ends.count(End.UNDER_WAY),
        left=ends.count(End.LEFT),
        curve=curve,
        start=start,
        followed=max((way.until for way in ways), default=0.0),
    )


def _curve(ways: Sequence[Way]) -> tuple[Curve | None, float]:
    """The curve from the first move at which FEWEST were seen on, and the week it begins at.

    Children who joined before moves were on record come into sight late. With one child in sight,
    that child's move would bring the whole curve to its end (Klein & Moeschberger 2003, Survival
    Analysis, section 4.6: with late entries, estimate from a time on where enough are at risk).
    """
    curve = time_to_tier(*_arrays(ways))
    enough = np.flatnonzero(curve.at_risk >= FEWEST)
    if not len(curve.times) or (len(enough) and enough[0] == 0):
        return curve, 0.0
    if not len(enough):
        return None, 0.0
    start = float(np.nextafter(curve.times[enough[0]], 0.0))
    later = [way for way in ways if way.until > start]
    times, reached, since = _arrays(later)
    return time_to_tier(times, reached, np.maximum(since, start)), start


def _arrays(ways: Sequence[Way]) -> tuple[Floats, Flags, Floats]:
    times = np.array([way.until for way in ways], dtype=float)
    reached = np.array([way.end is End.REACHED for way in ways], dtype=bool)
    return times, reached, np.array([way.since for way in ways], dtype=float)


def _compared(ways: Sequence[Way]) -> LogRank | None:
    """Whether terms differ, among children followed from their first day; None with too few."""
    from_start = [way for way in ways if way.since == 0]
    sizes = [sum(way.term == term for way in from_start) for term in range(12 // MONTHS_A_TERM)]
    known = [way for way in from_start if sizes[way.term] >= FEWEST]
    moves = sum(way.end is End.REACHED for way in known)
    if sum(size >= FEWEST for size in sizes) < 2 or moves < FEWEST_MOVES:
        return None
    times, reached, _ = _arrays(known)
    return log_rank(np.array([way.term for way in known]), times, reached)
