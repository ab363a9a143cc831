"""What was known of some athletes as the day began."""

from datetime import date

from progress.models import GymClass
from progress.usecases.engine_inputs import Holds
from progress.usecases.know_athletes import Known, asked_of, picture_of


def this_morning(known: Known, today: date, gym_class: GymClass | None = None) -> Known:
    """The same athletes, rules and parameters without today's tries and holds placed today.

    ``gym_class``: the class they practise in, where what is asked of it counts. The register of
    today plays no part in either. One query more, or none for athletes read ``with_last_here``.
    """
    log = known.log.before(float(today.toordinal()))
    holds = _placed_before(known.holds, today)
    seen = picture_of(
        athletes=known.athletes,
        holds=holds,
        log=log,
        catalogue=known.picture.catalogue,
        parameters=known.picture.parameters,
        rules=known.picture.rules,
        class_challenges=asked_of(gym_class, known.athletes),
    )
    return Known(known.athletes, known.skills, seen, holds, log, known.learnt_before)


def _placed_before(holds: Holds, today: date) -> Holds:
    before = {
        athlete: tuple(hold for hold in mine if hold.starts < today)
        for athlete, mine in holds.by_athlete.items()
    }
    return Holds({athlete: mine for athlete, mine in before.items() if mine}, today)
