"""What would take a "ready" back: a miss, or time in which nobody checks anything."""

from dataclasses import dataclass

import numpy as np

from progress.engine.log import UNKNOWN
from progress.engine.outcomes import MISS
from progress.engine.supposing import Case, FurtherTry, Supposing
from progress.engine.terms import Decision
from progress.engine.tier_asks import asked_of_tier, is_no_bar


@dataclass(frozen=True)
class TakenBack:
    """What would end a "ready": one miss at any of ``by_a_miss`` (skill codes), or the calendar.

    ``lapses`` is the first venue day at whose end the answer is no longer ready if nobody checks
    anything; ``then_short`` the skills that are short on that day.
    """

    by_a_miss: tuple[str, ...]
    lapses: int | None
    then_short: tuple[str, ...]


def taken_back(known: Supposing) -> TakenBack:
    """One miss today at each skill that counts, and each coming day without any try.

    The misses are taken to be seen by the gym's strictest coach, whose misses tell least.
    """
    told = known.picture
    skills, of_tier = told.catalogue.skills, asked_of_tier(told, known.row)
    earlier = [c for c, s in enumerate(skills) if s.gate and s.tier < known.athlete.tier]
    asked = sorted([*of_tier, *earlier])
    severity = [told.parameters.severity.get(code, 0.0) for code in known.log.coaches]
    strictest = int(np.argmax(severity)) if severity else UNKNOWN
    misses = [Case((FurtherTry(c, MISS, strictest, told.on_day),), told.on_day) for c in asked]
    # With nothing fresh left no floor is met, so the answer has lapsed by the day after.
    waits = [Case((), told.on_day + 1 + ago) for ago in range(told.rules.fresh_days + 1)]
    supposed = known.ask([*misses, *waits])
    still = [answer.decision is Decision.READY for answer in known.answers(supposed)]
    after = next((n for n in range(len(misses), len(still)) if not still[n]), None)
    short = [] if after is None else [c for c in of_tier if not is_no_bar(supposed, after, c)]
    return TakenBack(
        by_a_miss=tuple(skills[c].code for n, c in enumerate(asked) if not still[n]),
        lapses=None if after is None else waits[after - len(misses)].on_day,
        then_short=tuple(skills[c].code for c in short),
    )
