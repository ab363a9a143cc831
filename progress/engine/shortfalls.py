"""Where no plan takes everybody: which limit is short, and what it would have to be."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from progress.engine.assignment import Option, Pick, assign

Places = Mapping[tuple[str, str], int]


class Limit(StrEnum):
    """What there is too little of."""

    PLACES = "places"
    SPOTTERS = "spotters"


@dataclass(frozen=True)
class Shortfall:
    """``rows`` found nothing at ``station`` though variants fit them.

    With ``limit`` at ``needs`` in place of ``has`` everybody would be taken. ``variant`` is the
    one whose places are short, None for spotters, who are short on the whole loop.
    """

    loop: str
    station: str
    rows: tuple[int, ...]
    limit: Limit
    variant: str | None
    has: int
    needs: int


def shortfalls(
    loop: str,
    options: Sequence[Option],
    places: Places,
    spotters: int | None,
    picks: Mapping[tuple[int, str], Pick],
) -> tuple[Shortfall, ...]:
    """Name the limit to relax for each station where somebody was turned away.

    More adults are tried first, then more places, then both: the least that takes everybody.
    """
    away = _away(picks)
    if not away:
        return ()
    adults = _fewest_spotters(options, places, spotters)
    if adults is not None and spotters is not None:
        return tuple(
            Shortfall(loop, station, rows, Limit.SPOTTERS, None, spotters, adults)
            for station, rows in away.items()
        )
    # Without any limit on places everybody has one, if need be with more adults.
    roomy = assign(options, {}, spotters)
    if _away(roomy):
        roomy = assign(options, {}, None)
    used = Counter((station, pick.code) for (_, station), pick in roomy.items())
    return tuple(
        Shortfall(loop, station, rows, Limit.PLACES, variant, places[station, variant], needs)
        for station, rows in away.items()
        for (at, variant), needs in sorted(used.items(), key=str)
        if at == station and variant is not None and needs > places.get((at, variant), needs)
    )


def _away(picks: Mapping[tuple[int, str], Pick]) -> dict[str, tuple[int, ...]]:
    """Rows without a variant by station."""
    away: dict[str, tuple[int, ...]] = {}
    for (row, station), pick in picks.items():
        if pick.code is None:
            away[station] = (*away.get(station, ()), row)
    return away


def _fewest_spotters(options: Sequence[Option], places: Places, spotters: int | None) -> int | None:
    """The fewest adults with whom everybody has a place, None where adults are not the limit."""
    if spotters is None or _away(assign(options, places, None)):
        return None
    number = spotters + 1
    while _away(assign(options, places, number)):
        number += 1
    return number
