"""Tries of a sending that were made while a hold covered them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from progress.models import Athlete, Hold, Skill
from progress.usecases.sheets.entries import Entry
from progress.usecases.sheets.known import day_of


@dataclass(frozen=True)
class HeldTries:
    """One athlete's tries at skills that a hold covered on their day.

    ``since`` is the first day of the hold; ``uids`` name the tries.
    """

    athlete: Athlete
    since: date
    uids: tuple[str, ...]


def tries_on_hold(
    entries: Sequence[Entry], skills: Mapping[str, Skill], now: datetime
) -> tuple[HeldTries, ...]:
    """Whoever tried something on a day a hold of theirs covered it: two queries at most.

    A hold knows its first day and not its hour, so tries of that day from before it was written
    down are among them. Corrections are not tries.
    """
    tries = [entry for entry in entries if entry.supersedes is None]
    codes = {entry.athlete for entry in tries}
    holds = Hold.objects.filter(athlete__code__in=codes).select_related("athlete")
    found: dict[str, HeldTries] = {}
    for hold in holds.prefetch_related("ladders").order_by("starts", "pk"):
        named = {ladder.pk for ladder in hold.ladders.all()}
        covered = [
            entry.uid
            for entry in tries
            if entry.athlete == hold.athlete.code
            and _in_force(hold, day_of(entry, now))
            and (not named or skills[entry.skill].ladder_id in named)
        ]
        if covered:
            code = hold.athlete.code
            first = found.get(code, HeldTries(hold.athlete, hold.starts, ()))
            uids = dict.fromkeys((*first.uids, *covered))
            found[code] = HeldTries(hold.athlete, first.since, tuple(uids))
    return tuple(found.values())


def _in_force(hold: Hold, day: date) -> bool:
    return hold.starts <= day and (hold.lifted is None or hold.lifted > day)
