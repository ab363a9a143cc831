"""What was known of some athletes as the day began."""

from datetime import date

from progress.engine.picture import picture
from progress.models import Challenge
from progress.usecases.engine_inputs import Holds, as_terms, away_lately
from progress.usecases.know_athletes import Known


def this_morning(known: Known, today: date, class_challenge: str = Challenge.USUAL) -> Known:
    """The same athletes, rules and parameters without today's tries and holds placed today.

    The register of today plays no part in either. One query more, or none for athletes read
    ``with_last_here``.
    """
    log = known.log.before(float(today.toordinal()))
    holds = _placed_before(known.holds, today)
    rules = known.picture.rules
    away = away_lately(known.athletes, today, rules.absence_days)
    seen = picture(
        known.picture.catalogue,
        as_terms(known.athletes, holds, rules, away, class_challenge),
        log,
        known.picture.parameters,
        rules,
        today.toordinal(),
        holds.stretches(known.athletes),
    )
    return Known(known.athletes, known.skills, seen, holds, log, known.learnt_before)


def _placed_before(holds: Holds, today: date) -> Holds:
    before = {
        athlete: tuple(hold for hold in mine if hold.starts < today)
        for athlete, mine in holds.by_athlete.items()
    }
    return Holds({athlete: mine for athlete, mine in before.items() if mine}, today)
