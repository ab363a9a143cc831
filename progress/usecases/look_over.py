"""Work out whom a lead may want to look at, as of one day: the figures, before anybody reads them.

Athletes are named by code alone: what is kept for the day must not outlive an erased name.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from progress.engine.attention import Unchecked, WentBack, not_checked, went_back
from progress.engine.picture import Picture, picture
from progress.engine.plateaus import Standstill, standstills
from progress.models import Athlete
from progress.usecases.compare_attendance import Compared, compare_attendance
from progress.usecases.engine_inputs import Holds, as_terms, away_lately
from progress.usecases.know_athletes import Known, age_floors, know_athletes
from progress.usecases.tiers_then import tiers_then

BACK_DAYS = 28  # how far back readiness is compared


@dataclass(frozen=True)
class LookedOver:
    """What was found of ``athletes`` at the end of ``until``.

    ``stuck``: only where there hardly was a gain. ``can_tell``: athletes whose evidence is enough,
    over all or on a ladder, to see whether there was one. ``held``: on hold on that day, if only on
    some ladders.
    """

    until: date
    athletes: frozenset[str]
    held: frozenset[str]
    stuck: tuple[Standstill, ...]
    can_tell: frozenset[str]
    unchecked: tuple[Unchecked, ...]
    went_back: tuple[WentBack, ...]
    attendance: Mapping[str, Compared]


def look_over(*, athletes: Sequence[Athlete], until: date) -> LookedOver:
    """Look at these athletes as of the end of ``until``: eighteen queries at most."""
    if not athletes:
        return LookedOver(until, frozenset(), frozenset(), (), frozenset(), (), (), {})
    known = know_athletes(athletes=athletes, today=until)
    now, day = known.picture, until.toordinal()
    found = standstills(
        now.catalogue,
        [one.tier for one in now.athletes],
        known.log,
        now.parameters,
        day,
        pauses=known.holds.stretches(athletes),
    )
    before = picture_then(known=known, day=until - timedelta(days=BACK_DAYS))
    return LookedOver(
        until=until,
        athletes=frozenset(athlete.code for athlete in athletes),
        held=frozenset(_held(now)),
        stuck=tuple(one for one in found if one.stuck),
        can_tell=frozenset(one.athlete for one in found if one.enough),
        unchecked=not_checked(now.athletes, known.log, day),
        went_back=went_back(before, now, age_floors(known.skills)),
        attendance=compare_attendance(athletes=athletes, holds=known.holds, until=until),
    )


def picture_then(*, known: Known, day: date) -> Picture:
    """The same athletes as they were at the end of an earlier ``day``: four queries.

    Log, holds, ages, breaks and tiers are those of that day. Rules, skills, the calibration and the
    number of coaches a gate asks for are today's on purpose: with those of then, children would
    seem to go back because the yardstick moved.
    """
    athletes, rules = known.athletes, known.picture.rules
    holds = Holds.read(athletes, day)
    away = away_lately(athletes, day, rules.absence_days)
    tiers = tiers_then(athletes=athletes, day=day)
    terms = as_terms(athletes, holds, rules, away)
    return picture(
        known.picture.catalogue,
        [replace(one, tier=tier) for one, tier in zip(terms, tiers, strict=True)],
        known.log.before(day.toordinal() + 1.0),
        known.picture.parameters,
        rules,
        day.toordinal(),
        holds.stretches(athletes),
    )


def _held(now: Picture) -> Iterator[str]:
    return (one.code for one in now.athletes if one.held or one.held_ladders)
